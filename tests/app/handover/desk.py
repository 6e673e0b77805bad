"""A workspace without a worker process, and takes to put on it."""

from dataclasses import replace

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.state import State
from core.document import Document
from core.metre import Metre
from core.take import AudioTake
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato

GRID = grid_of(Metre.steady(FOUR), rubato(80), start=2.2, bar=0, beat=4, placed=frozenset({1, 5}))
"""Twenty bars with a pickup."""


class Desk(QObject):
    """What the page needs of a workspace; the state is put there by the test."""

    changed = Signal(object, object)
    selected = Signal(object)
    message = Signal(object)

    def __init__(self, state=None):
        super().__init__()
        self.state = state or State()
        self.selection = frozenset()
        self.messages = []
        self.message.connect(self.messages.append)

    def put(self, **changes):
        old, self.state = self.state, replace(self.state, **changes)
        self.changed.emit(old, self.state)

    def select(self, places):
        self.selection = frozenset(places)


def piano(folder, *, name="evening.mid"):
    """A state with a MIDI take of a note on every beat."""
    take = midi_take((time, time + 0.3, 60) for time in GRID.beat_times)
    return State(take=replace(take, path=folder / name), grid=GRID, document=Document(metre=GRID.metre))


def guitar(folder):
    """A state with an audio take."""
    take = AudioTake(path=folder / "guitar.wav", duration=60.0, rate=48000, channels=2, frames=60 * 48000)
    return State(take=take, grid=GRID, document=Document(metre=GRID.metre))


def slow_in_the_middle():
    """A grid whose bar 10 is too slow for most sequencers."""
    lengths = np.full(80, 0.5)
    lengths[36:40] = 3.5
    return grid_of(Metre.steady(FOUR), lengths, start=2.0)
