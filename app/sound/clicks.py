"""Where clicks fall: on the bar lines and beats of a grid, between beats, and in the bars counted before it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.checks import Floats, ascending, frozen
from core.grid import Grid

BAR, BEAT, PART = 0, 1, 2
"""Kinds of a click: on a bar line, on another beat, on a part of a beat."""

_SAME = 1e-9
"""Seconds below which two moments are one."""

BARS_ONLY = 0
"""Parts of a beat for a click on bar lines alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Clicks:
    """Clicks in order of time.

    Parameters
    ----------
    time : (n,) float
        Seconds of take time.
    kind : (n,) int
        `BAR`, `BEAT` or `PART`.
    """

    time: Floats
    kind: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.time)

    @classmethod
    def of(cls, time: ArrayLike, kind: ArrayLike) -> Clicks:
        """Clicks at seconds of take time, ascending, of these kinds."""
        return cls(ascending(time, "The times of clicks"), np.asarray(kind, dtype=np.int64))

    @classmethod
    def none(cls) -> Clicks:
        """No click at all."""
        return cls(frozen([]), np.zeros(0, dtype=np.int64))

    def between(self, start: float, end: float) -> Clicks:
        """Those from `start` up to, not including, `end`."""
        first, last = np.searchsorted(self.time, (start, end))
        return Clicks(self.time[first:last], self.kind[first:last])


def clicks_of(grid: Grid | None, parts: int = 1) -> Clicks:
    """Clicks on the lines of a grid.

    Parameters
    ----------
    grid : Grid or None
    parts : int
        Clicks a beat: 1 for beats alone, 2 to 4 for halves, thirds and quarters of beats; `BARS_ONLY`.
    """
    if grid is None or not grid.beats:
        return Clicks.none()
    time = grid.beat_times
    kind = np.array([BAR if beat.beat == 1 else BEAT for beat in grid.beats])
    if parts == BARS_ONLY:
        return Clicks(time[kind == BAR], kind[kind == BAR])
    if parts > 1:
        share = np.arange(parts) / parts
        inner = (time[:-1, None] + np.diff(time)[:, None] * share).ravel()
        kinds = np.full((len(time) - 1, parts), PART)
        kinds[:, 0] = kind[:-1]
        time, kind = np.append(inner, time[-1]), np.append(kinds.ravel(), kind[-1])
    return Clicks(time, kind)


@dataclass(frozen=True, slots=True, eq=False)
class CountIn:
    """Bars that are counted before the take comes in.

    Parameters
    ----------
    clicks : Clicks
        Before the moment at which the take comes in.
    length : float
        Seconds of take time from the beginning of the first bar counted.
    """

    clicks: Clicks
    length: float


def count_in(grid: Grid | None, start: float, bars: int) -> CountIn | None:
    """Count bars before a moment, as if the bar it lies in had gone before it again and again.

    Parameters
    ----------
    grid : Grid or None
    start : float
        Seconds of take time at which the take comes in.
    bars : int
        How many; the last of them leads up to `start`.

    Returns
    -------
    CountIn or None
        None where nothing is to be counted, or no bar is known to count like.
    """
    if grid is None or bars < 1 or len(times := grid.bar_times) < 2:
        return None
    i = int(np.clip(np.searchsorted(times, start + _SAME, side="right") - 1, 0, len(times) - 2))
    begin, length = float(times[i]), float(times[i + 1] - times[i])
    clicks = clicks_of(grid).between(begin, times[i + 1])
    # Whole bars away, so that the beats run on into the bar in which the take comes in.
    laps = np.arange(-bars - 1, 1) + np.ceil((start - begin) / length - _SAME)
    at = (clicks.time + laps[:, None] * length).ravel()
    kind = np.tile(clicks.kind, len(laps))
    # A click at the very start belongs to the take's own bars.
    counted = (at >= start - bars * length - _SAME) & (at < start - _SAME)
    return CountIn(Clicks(frozen(at[counted]), kind[counted]), bars * length)
