"""A workspace without a worker process: it shows the state it is given and keeps what it is asked for."""

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.state import State
from core.document import Document
from core.grid import Beat, Grid, Pin
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.take import AudioTake


class StillWorkspace(QObject):
    """What the lanes use of `app.workspace.Workspace`; edits are kept and not carried out."""

    changed = Signal(object, object)
    selected = Signal(object)
    picture = Signal(object)

    def __init__(self, state: State) -> None:
        super().__init__()
        self.state = state
        self.selection = frozenset()
        self.pictured = None
        self.edits = []

    def show(self, **news) -> None:
        old, self.state = self.state, replace(self.state, **news)
        self.changed.emit(old, self.state)

    def select(self, places: Iterable[tuple[int, int]]) -> None:
        if frozenset(places) != self.selection:
            self.selection = frozenset(places)
            self.selected.emit(self.selection)

    def attempt(self, make: Callable) -> None:
        self.edits.append(make(self.state.document, self.state.grid))


def steady_grid(
    bars: int,
    *,
    bar: float = 2.0,
    start: float = 1.0,
    signature: str = "4/4",
    placed=frozenset(),
    doubtful=frozenset(),
) -> Grid:
    """Bars of equal length, numbered from 1."""
    figures = TimeSignature.parse(signature)
    beats = []
    for number in range(1, bars + 1):
        for beat in range(1, figures.beats + 1):
            if number == bars and beat > 1:
                break
            set_here = (number, beat) in placed
            sure = 1.0 if set_here else 0.1 if (number, beat) in doubtful else 0.8
            time = start + (number - 1) * bar + (beat - 1) * bar / figures.beats
            beats.append(Beat(time, number, beat, set_here, sure))
    return Grid(Metre.steady(figures), tuple(beats))


def onsets_at(times: Iterable[float], duration: float) -> Onsets:
    """Onsets at given moments, alike but for their strength."""
    time = np.array(sorted(times))
    n = len(time)
    same = {name: np.ones(n) for name in ("count", "length", "pedal_lift", "pedal_down")}
    return Onsets(
        source="midi",
        duration=duration,
        time=time,
        strength=np.linspace(-20.0, 0.0, n) if n else time,
        low=np.full(n, 60.0),
        high=np.full(n, 72.0),
        chroma=np.full((n, 12), 1 / 12),
        **same,
    )


def state_of(grid: Grid, *, duration: float, onsets: Iterable[float] = (), **document) -> State:
    """A state with a grid, its placed lines and onsets."""
    pins = tuple(Pin(beat.time, beat.bar, beat.beat) for beat in grid.beats if beat.placed)
    take = AudioTake(path="take.wav", duration=duration, rate=48000, channels=2, frames=round(48000 * duration))
    return State(
        take=take,
        onsets=onsets_at(onsets, duration),
        document=Document(metre=grid.metre, pins=pins, **document),
        grid=grid,
    )
