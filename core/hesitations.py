"""Where the player stopped to think: bars that are long against their neighbours, at a resting point.

A resting point is a gap between two onsets that is longer than the gaps before and after it, as listeners group
music by (Lerdahl and Jackendoff 1983, grouping preference rule 2b, attack-point; from memory), and at least twice
the usual gap around it, in which nothing is struck.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.grid import Grid
from core.onsets import Onsets

LONG = 1.25
"""A bar is long if it lasts so many times what its neighbours suggest."""

LEAST = 0.6
"""Seconds a pause must save to be worth naming, and beats."""

RESTING = 2.0
"""A resting gap is so many times the usual gap around it."""

SLOWER = 1.6
"""A bar before a pause that is slower than the others, up to so many times, is a phrase slowing down."""

_BARS = 3
"""Bars looked at on each side."""

_GAPS = 8
"""Gaps looked at on each side."""


@dataclass(frozen=True, slots=True)
class Hesitation:
    """A pause longer than the music around it asks for.

    Parameters
    ----------
    start, end : float
        Onsets before and after it, seconds of recording time.
    saves : float
        Seconds by which it is longer than its neighbours suggest.
    bar : int
        The bar it is in.
    """

    start: float
    end: float
    saves: float
    bar: int

    @property
    def suggested(self) -> float:
        """Seconds it would last in the tempo of its neighbours."""
        return self.end - self.start - self.saves


def find_hesitations(onsets: Onsets, grid: Grid) -> tuple[Hesitation, ...]:
    """Find the hesitations of a recording, in order of time.

    Parameters
    ----------
    onsets : Onsets
        What was heard.
    grid : Grid
        Its bars.
    """
    lines = grid.bar_times
    if len(lines) < 3 or len(onsets) < 4:
        return ()
    numbers = [line.bar for line in grid.bar_lines]
    quarters = grid.bar_lengths
    paces = np.diff(lines) / quarters
    found = []
    for i in resting_points(onsets.time).tolist():
        start, end = float(onsets.time[i]), float(onsets.time[i + 1])
        # The bar that most of the gap lies in.
        at = int(np.searchsorted(lines, (start + end) / 2, side="right")) - 1
        # Music goes on after a hesitation; what is slow at the very end is an ending.
        if not 1 <= at < len(paces) - 1:
            continue
        usual = _usual(paces, at)
        excess = float((paces[at] - usual) * quarters[at])
        beat = float(usual * quarters[at] / grid.metre.at(numbers[at]).beats)
        if paces[at] < LONG * usual or excess < LEAST * max(1.0, beat):
            continue
        saves = min(excess, end - start - beat)
        if saves >= LEAST:
            found.append(Hesitation(start, end, saves, numbers[at]))
    return tuple(found)


def resting_points(times: Floats) -> NDArray[np.int64]:
    """Index of the onset before each resting gap.

    Parameters
    ----------
    times : (n,) float
        Onsets, ascending seconds.
    """
    gaps = np.diff(times)
    padded = np.pad(gaps, _GAPS, constant_values=np.nan)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * _GAPS + 1).copy()
    around[:, _GAPS] = np.nan
    # The median of each row: sorted, what is missing at the ends comes last. numpy's own takes ten times as long.
    around.sort(axis=1)
    rows, known = np.arange(len(gaps)), np.count_nonzero(~np.isnan(around), axis=1)
    usual = (around[rows, (known - 1) // 2] + around[rows, known // 2]) / 2
    before, after = np.append(0.0, gaps[:-1]), np.append(gaps[1:], 0.0)
    return np.flatnonzero((gaps >= RESTING * usual) & (gaps > before) & (gaps > after))


def _usual(paces: Floats, at: int) -> float:
    """Seconds of a quarter in the bars around one."""
    around = np.concatenate((paces[max(at - _BARS, 0) : at], paces[at + 1 : at + 1 + _BARS]))
    usual = float(np.median(around))
    # A phrase that slows down before it rests goes on slowing, and is not to be hurried.
    before = float(paces[at - 1])
    slowing = max(before / float(paces[at - 2]), 1.0) if at > 1 else 1.0
    return max(usual, min(before * slowing, SLOWER * usual))
