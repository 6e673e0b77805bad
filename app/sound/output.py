"""Where frames go: a card that is opened, started and let go, with the ring it takes them from."""

from __future__ import annotations

import threading
from collections.abc import Callable

from app.sound.card import Cards, Device, Stream
from app.sound.ring import Ring
from app.sound.sources import PIANO_RATE

_RING = 1 << 18
"""Frames the ring holds: those ahead, and those heard just now, at any rate."""

_GUARD = 0.015
"""Seconds just before the card that are not touched any more."""

_WARMING = 0.3
"""Seconds of silence a card is given first: what it says of the very first frames is not true yet."""

GONE = 4.0
"""Seconds without a word from the card after which it is taken for gone."""


class Output:
    """One card at a time.

    Parameters
    ----------
    cards : callable
        Makes the cards; may raise `NoSoundError`.
    """

    def __init__(self, cards: Callable[[], Cards]) -> None:
        self._find = cards
        self._cards: Cards | None = None
        self._stream: Stream | None = None
        self._opened: tuple[str, int] | None = None
        self._warm = self._asked = 0
        self._asked_at = 0.0
        self.ring = Ring(_RING)
        self.running = False

    @property
    def rate(self) -> int:
        """Frames a second."""
        return self._stream.rate if self._stream is not None else PIANO_RATE

    @property
    def guard(self) -> int:
        """Frames before the card that are left as they are."""
        return round(_GUARD * self.rate) + self.ring.largest

    @property
    def warm(self) -> bool:
        """Whether the card has been given enough silence to know its own time."""
        return self.running and self.ring.asked >= self._warm

    def devices(self) -> tuple[Device, ...]:
        """All outputs there are now.

        Raises
        ------
        NoSoundError
            If there is no library to ask.
        """
        if self._stream is None:
            # The library knows only the cards there were when it was begun.
            self._cards = None
        return self._all.devices()

    def open(self, name: str, rate: int) -> None:
        """Have a device open, at a rate if it can.

        Raises
        ------
        NoSoundError
            If it does not open.
        """
        if self._stream is None or self._opened != (name, rate):
            self.let_go()
            self.ring = Ring(_RING)
            self._stream = self._all.open(name, rate, self.ring.pull)
            self._opened = name, rate

    def start(self, moment: float) -> None:
        """Have it running; `moment` is now.

        Raises
        ------
        NoSoundError
            If it does not start.
        """
        if self._stream is not None and not self.running:
            self._stream.start()
            self.running = True
            self._warm = self.ring.asked + round(_WARMING * self.rate)
        self._asked, self._asked_at = self.ring.asked, moment

    def alive(self, moment: float) -> bool:
        """Whether the card still asks for frames."""
        if self.ring.asked != self._asked:
            self._asked, self._asked_at = self.ring.asked, moment
        return self._stream is not None and self._stream.active() and moment - self._asked_at <= GONE

    def zero(self) -> float | None:
        """When frame 0 of the ring was heard, on the common clock; None while that is not known.

        Raises
        ------
        NoSoundError
            If the card has no time any more.
        """
        found = self.ring.zero(self.rate)
        return None if found is None or self._stream is None else found + self._stream.ahead()

    def let_go(self) -> None:
        """Give the card back."""
        if self._stream is not None:
            # A card that has gone may never come back from this.
            closing = threading.Thread(target=self._stream.close, daemon=True)
            closing.start()
            closing.join(1.0)
        self._stream, self._opened, self.running = None, None, False

    def forget(self) -> None:
        """Give the card back and look for all of them anew the next time."""
        self.let_go()
        self._cards = None

    @property
    def _all(self) -> Cards:
        if self._cards is None:
            self._cards = self._find()
        return self._cards
