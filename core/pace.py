"""How fast the bars go: their lengths, the tempo to go on with after them, and the level of its tables.

Tempi are logarithms of the seconds of a quarter throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from statistics import median

import numpy as np

from core.metre import Metre
from core.way import Mark, place_of, times_at

LEVEL = 0.15
"""Tables are made for tempi this far apart, in natural logarithm."""

STICK = 0.12
"""The table in use is kept while the tempo of the last bars stays this near to its own."""

RECENT = 8
"""Bars whose median length is the tempo the search is pulled to."""

RESET = 0.5
"""How far the tempo follows the bar that a placed line has ended."""

SUDDEN = 0.3
"""A bar this much longer or shorter than those before it was a hesitation or a slip, after which the tempo is
as before; a second one like it is a new tempo."""


def tempo_between(begin: Mark, end: Mark) -> float:
    """Log seconds of a quarter from one mark to another."""
    return float(np.log((end.time - begin.time) / float(end.position - begin.position)))


def lengths_at(marks: Sequence[Mark], positions: Sequence[Fraction]) -> list[float]:
    """Log seconds of a quarter from each score position to the next, the marks giving their times."""
    quarters = np.array([float(position) for position in positions])
    lengths = np.log(np.diff(times_at(marks, positions)) / np.diff(quarters))
    return [float(length) for length in lengths]


def bar_lines(metre: Metre, marks: Sequence[Mark]) -> list[Fraction]:
    """Score positions of all bar lines from the first mark to the last."""
    first, offset = place_of(metre, marks[0].position)
    last, _ = place_of(metre, marks[-1].position)
    return [metre.quarter_of(bar) for bar in range(first + bool(offset), last + 1)]


def bar_lengths(metre: Metre, marks: Sequence[Mark]) -> list[float]:
    """Log seconds of a quarter in each whole bar of the marks; from end to end where they hold none."""
    positions = bar_lines(metre, marks)
    if len(positions) < 2:
        return [tempo_between(marks[0], marks[-1])]
    return lengths_at(marks, positions)


def tempo_after(lengths: Sequence[float]) -> float:
    """Log seconds of a quarter to go on with: that of the bars before, part of the way to the last one."""
    last = lengths[-1]
    before = median(lengths[-5:-1]) if len(lengths) > 1 else last
    change = last - before
    if abs(change) <= SUDDEN:
        return before + RESET * change
    return last if abs(last - lengths[-2]) < 0.5 * SUDDEN else before


def level_of(tempo: float) -> int:
    """Level whose tables are made for a tempo."""
    return round(tempo / LEVEL)


def next_level(level: int, lengths: Sequence[float]) -> int:
    """Level for the tempo of the last bars: the one in use while it will do."""
    recent = median(lengths[-RECENT:])
    return level if abs(recent - level * LEVEL) <= STICK else level_of(recent)


def levels_after(lengths: Sequence[float]) -> list[int]:
    """Level in use after each bar."""
    level = level_of(lengths[0])
    out = []
    for i in range(len(lengths)):
        level = next_level(level, lengths[max(0, i + 1 - RECENT) : i + 1])
        out.append(level)
    return out
