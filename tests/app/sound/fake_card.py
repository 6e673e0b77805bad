"""A card that asks for frames when a test says so, on a clock that the test moves."""

import numpy as np

from app.sound.card import Device, NoSoundError
from app.sound.engine import Engine

LATENCY = 0.1
"""Seconds from a request until its first frame is heard."""

BLOCK = 480


class FakeStream:
    def __init__(self, cards, rate, pull):
        self.cards, self.rate, self.pull = cards, rate, pull
        self.running = self.gone = False

    def start(self):
        self.running = True

    def close(self):
        self.running = False

    def active(self):
        return self.running and not self.gone

    def ahead(self):
        # The card's clock began at another moment than the common one.
        return self.cards.ahead


class FakeCards:
    """Makes streams; `time` is the common clock."""

    def __init__(self, rates=(48000,)):
        self.time, self.ahead = 1000.0, 250.0
        self.rates = rates
        self.none = ""
        self.stream = None
        self.heard = []

    def devices(self):
        return (Device("a fake card", 0, self.rates[0]),)

    def open(self, name, rate, pull):
        if self.none:
            raise NoSoundError(self.none)
        self.stream = FakeStream(self, rate if rate in self.rates else self.rates[0], pull)
        return self.stream


class Studio:
    """An engine on a fake card, and everything that it says and plays."""

    def __init__(self, monkeypatch, **card):
        self.cards = FakeCards(**card)
        self.said = []
        monkeypatch.setattr("app.sound.engine.now", lambda: self.cards.time)
        self.engine = Engine(lambda: self.cards, self.said.append)

    def run(self, seconds):
        """Let time go by; return what the card was given meanwhile, shape (frames, 2)."""
        rows = []
        for _ in range(round(seconds * self.cards.stream.rate / BLOCK) if self.cards.stream else 1):
            self.engine.tick()
            stream = self.cards.stream
            if stream is not None and stream.active():
                out = np.full((BLOCK, 2), np.nan, dtype=np.float32)
                stream.pull(out, self.cards.time + LATENCY - self.cards.ahead)
                rows.append(out)
            self.cards.time += BLOCK / (stream.rate if stream else 48000)
        return np.concatenate(rows) if rows else np.zeros((0, 2))

    def of(self, kind):
        return [news for news in self.said if isinstance(news, kind)]
