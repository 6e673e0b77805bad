"""The process that plays: `python -m app.sound.server`. The window may be busy; this one is not.

It speaks on what was its standard output; everything that prints writes to standard error instead, which the
window keeps for the details of a message. It ends when its standard input does, so it never outlives the window.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
from collections import deque
from typing import BinaryIO

from app.pipe import Unpacker, packed
from app.sound.card import Cards
from app.sound.engine import Engine
from app.sound.messages import Anchor, News, Order, SetClicks, SetMix, Waiting

TICK = 0.008
"""Seconds between two looks at the frames on their way."""

_PIECE = 1 << 16


class Outbox:
    """News on their way to the window; only the newest anchor waits, however long nobody reads."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._news: deque[News] = deque()
        self._ready = threading.Condition()
        threading.Thread(target=self._write, daemon=True).start()

    def say(self, news: News) -> None:
        """Send something; never waits."""
        with self._ready:
            if isinstance(news, Anchor | Waiting) and self._news and isinstance(self._news[-1], Anchor | Waiting):
                self._news.pop()
            self._news.append(news)
            self._ready.notify()

    def _write(self) -> None:
        while True:
            with self._ready:
                while not self._news:
                    self._ready.wait()
                news = self._news.popleft()
            self._out.write(packed(news))
            self._out.flush()


def _read(pipe: BinaryIO, orders: deque[Order], ready: threading.Event) -> None:
    unpacker = Unpacker()
    while data := os.read(pipe.fileno(), _PIECE):
        orders.extend(unpacker.feed(data))
        ready.set()
    # The window has gone.
    os._exit(0)


def main() -> None:
    """Play until the window goes."""
    out = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    sys.stdout = sys.stderr
    # The card's thread waits for whoever computes; not for long.
    sys.setswitchinterval(0.001)
    gc.freeze()
    orders: deque[Order] = deque()
    ready = threading.Event()
    engine = Engine(Cards, Outbox(out).say)
    threading.Thread(target=_read, args=(sys.stdin.buffer, orders, ready), daemon=True).start()
    while True:
        ready.wait(TICK if engine.busy else None)
        ready.clear()
        while orders:
            order = orders.popleft()
            # Of levels on the move only the last is worth rendering for.
            if isinstance(order, SetMix | SetClicks) and orders and type(orders[0]) is type(order):
                continue
            engine.do(order)
        engine.tick()


if __name__ == "__main__":
    main()
