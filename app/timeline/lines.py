"""A grid as arrays to paint and pick from: every bar line and beat, and which of them a lane shows."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.span import Span
from app.state import Place
from core.checks import Floats
from core.grid import Beat, Grid
from core.shown import anchor

Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]

CLOSEST_BARS = 4.0
"""Pixels: where bar lines would stand closer than this, only every second, fourth, ... is shown."""

CLOSEST_BEATS = 7.0
"""Pixels: where beats would stand closer than this, none is shown."""


class Lines:
    """All lines of one grid, in order of time; arrays have one entry a line."""

    def __init__(self, grid: Grid) -> None:
        beats = grid.beats
        self.grid = grid
        self.time: Floats = grid.beat_times
        self.bar: NDArray[np.int64] = np.array([beat.bar for beat in beats], dtype=np.int64)
        self.beat: NDArray[np.int64] = np.array([beat.beat for beat in beats], dtype=np.int64)
        self.placed: Flags = np.array([beat.placed for beat in beats], dtype=np.bool_)
        self.doubtful: Flags = np.array([beat.doubtful for beat in beats], dtype=np.bool_)
        self.bars: Indices = np.flatnonzero(self.beat == 1)
        self.bar_time: Floats = self.time[self.bars]
        self.bar_number: NDArray[np.int64] = self.bar[self.bars]
        self._index = {place: i for i, place in enumerate(zip(self.bar.tolist(), self.beat.tolist(), strict=True))}

    def __len__(self) -> int:
        return len(self.time)

    @cached_property
    def bar_length(self) -> float:
        """Seconds of the usual bar; infinite where there is no whole one."""
        return float(np.median(np.diff(self.bar_time))) if len(self.bars) > 1 else np.inf

    @cached_property
    def beat_length(self) -> float:
        """Seconds of the usual beat; infinite where there is no whole one."""
        return float(np.median(np.diff(self.time))) if len(self) > 1 else np.inf

    @cached_property
    def tempo_unit(self) -> float:
        """Quarters of what is counted a minute: a beat where all metres are compound and alike, else a quarter."""
        if not len(self.bars):
            return 1.0
        metre = self.grid.metre
        starts = {int(self.bar[0]), *(bar for bar, _ in metre.changes if self.bar[0] < bar <= self.bar[-1])}
        signatures = [metre.at(bar) for bar in starts]
        alike = len({signature.denominator for signature in signatures}) == 1
        compound = alike and all(signature.compound for signature in signatures)
        return 12.0 / signatures[0].denominator if compound else 1.0

    @cached_property
    def tempo(self) -> Floats:
        """Tempo of each whole bar, one fewer than bar lines: `tempo_unit` a minute."""
        return self.grid.bar_tempi / self.tempo_unit

    def index(self, place: Place) -> int | None:
        """Where a line stands in the arrays; None if the grid has no such line."""
        return self._index.get(place)

    def place(self, index: int) -> Place:
        """Bar and beat of a line."""
        return int(self.bar[index]), int(self.beat[index])

    def line(self, place: Place) -> Beat | None:
        """Return the line itself; None if the grid has no such line."""
        index = self.index(place)
        return None if index is None else self.grid.beats[index]

    def bar_at(self, time: float) -> int | None:
        """Position in `bars` of the bar that sounds at a moment; None before the first and after the last."""
        at = int(np.searchsorted(self.bar_time, time, side="right")) - 1
        return at if 0 <= at < len(self.bars) - 1 else None

    def at(self, time: float) -> int | None:
        """Where the beat stands in the arrays that sounds at a moment; None before the first, after the last."""
        at = int(np.searchsorted(self.time, time, side="right")) - 1
        return at if 0 <= at < len(self) - 1 else None

    def neighbours(self, place: Place) -> tuple[float, float]:
        """Seconds between which a line can be dragged; without end where nothing is in the way."""
        index = self.index(place)
        if index is None:
            return -np.inf, np.inf
        before, after = anchor(self.grid, index, -1), anchor(self.grid, index, 1)
        return (0.0 if before is None else before.time), (np.inf if after is None else after.time)


_made: deque[Lines] = deque(maxlen=3)


def lines_of(grid: Grid) -> Lines:
    """Give the lines of a grid, made once for it however many lanes ask."""
    # By identity: comparing two grids costs more than the arrays.
    for lines in _made:
        if lines.grid is grid:
            return lines
    _made.append(Lines(grid))
    return _made[-1]


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """The lines a lane shows, each by where it stands in `Lines`.

    Parameters
    ----------
    bars, beats : (n,) int
        Bar lines, and beats inside bars.
    step : int
        How many bars there are from one shown bar line to the next.
    """

    bars: Indices
    beats: Indices
    step: int


def shown(lines: Lines, span: Span, *, around: float = 0.0) -> Shown:
    """Choose what is worth drawing at the zoom in use.

    Parameters
    ----------
    lines : Lines
        All of them.
    span : Span
        What is on screen.
    around : float
        Pixels beyond both edges within which lines are still wanted.
    """
    scale = span.seconds_per_pixel
    low, high = span.start - around * scale, span.end + around * scale
    step = step_for(lines, span, CLOSEST_BARS)
    bars = lines.bars[_between(lines.bar_time, low, high)]
    if step > 1:
        bars = bars[(lines.bar[bars] - 1) % step == 0]
    beats = np.empty(0, dtype=np.intp)
    if step == 1:
        there = _between(lines.time, low, high)
        inside = lines.beat[there] > 1
        if lines.beat_length < CLOSEST_BEATS * scale:
            inside &= lines.placed[there]
        beats = np.flatnonzero(inside) + there.start
    return Shown(bars, beats, step)


def _between(times: Floats, low: float, high: float) -> slice:
    return slice(int(np.searchsorted(times, low)), int(np.searchsorted(times, high, side="right")))


def step_for(lines: Lines, span: Span, pixels: float) -> int:
    """Fewest bars (1, 2, 4, ...) that together are as wide as so many pixels; it stays while scrolling."""
    wide = lines.bar_length / span.seconds_per_pixel
    step = 1
    while step * wide < pixels and step < len(lines.bars):
        step *= 2
    return step
