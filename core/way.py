"""A way through a take: moments whose place in the score is known, and the times of all places between."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np

from core.checks import Floats
from core.metre import Metre


@dataclass(frozen=True, slots=True, order=True)
class Mark:
    """A moment and its place in the score.

    Parameters
    ----------
    position : Fraction
        Quarters from bar line 1.
    time : float
        Seconds.
    """

    position: Fraction
    time: float


@lru_cache(maxsize=8192)
def place_of(metre: Metre, position: Fraction) -> tuple[int, Fraction]:
    """Bar that a score position lies in, and the quarters from its bar line."""
    starts = [metre.quarter_of(bar) for bar, _ in metre.changes]
    i = max(bisect_right(starts, position) - 1, 0)
    bar, signature = metre.changes[i]
    bars = (position - starts[i]) // signature.quarters
    return bar + int(bars), position - starts[i] - bars * signature.quarters


Part = tuple[Mark, ...]
"""Marks one after the other, the last of them known."""


class Parts:
    """A way that is made part by part, from one known mark to the next.

    Parameters
    ----------
    metre : Metre
        Of the take.
    begin : Part
        The first known mark, alone.
    """

    def __init__(self, metre: Metre, begin: Part) -> None:
        self._metre = metre
        self._parts: list[Part] = []
        self._ends: list[int] = []
        self.add(begin)

    def add(self, part: Part) -> None:
        """Go on to a known mark."""
        self._parts.append(part)
        self._ends.append(place_of(self._metre, part[-1].position)[0])

    def marks(self) -> list[Mark]:
        """All marks."""
        return [mark for part in self._parts for mark in part]

    def behind(self, bars: int) -> Sequence[Part]:
        """The last parts, as many as hold the marks of the last so many bars and one mark before."""
        return self._parts[max(bisect_left(self._ends, self._ends[-1] - bars) - 1, 0) :]

    def last(self, bars: int) -> tuple[Mark, ...]:
        """The marks of the last so many bars, at least the last two."""
        marks = [mark for part in self.behind(bars) for mark in part]
        begin = bisect_left(marks, self._metre.quarter_of(self._ends[-1] - bars), key=lambda mark: mark.position)
        return tuple(marks[min(begin, max(len(marks) - 2, 0)) :])


def first_bars(metre: Metre, marks: Sequence[Mark], bars: int) -> Sequence[Mark]:
    """The marks of the first so many bars, at least the first two."""
    bar, _ = place_of(metre, marks[0].position)
    end = bisect_right(marks, metre.quarter_of(bar + 1 + bars), key=lambda mark: mark.position)
    return marks[: max(end, 2)]


def times_at(marks: Sequence[Mark], positions: Sequence[Fraction]) -> Floats:
    """Times of score positions: those of the marks, and in between in proportion; the end tempi go on.

    Parameters
    ----------
    marks : sequence of Mark
        At least two, in order of position and of time.
    positions : sequence of Fraction
        Quarters from bar line 1.

    Returns
    -------
    (n,) float
        Seconds, to the last digit those of the marks where a position is a mark's.
    """
    at = np.array([float(mark.position) for mark in marks])
    time = np.array([mark.time for mark in marks])
    wanted = np.array([float(position) for position in positions])
    segment = np.clip(np.searchsorted(at, wanted, side="right") - 1, 0, len(at) - 2)
    slope = np.diff(time) / np.diff(at)
    out = time[segment] + slope[segment] * (wanted - at[segment])
    return np.asarray(np.where(wanted == at[segment + 1], time[segment + 1], out))
