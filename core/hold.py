"""Extra beats for a bar that was held, so that its tempo stays near its neighbours'."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from statistics import median

from core.errors import InputError
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature

_NEIGHBOURS = 2
"""Bars looked at on each side."""


def with_hold(grid: Grid, bar: int) -> Grid:
    """Turn a held bar into a bar of more beats, near the tempo of the bars around it.

    Every beat keeps its place; a beat that lasts longer than it would at the neighbours' tempo is divided into as
    many as fit. The bar gets the time signature that results, the next one the old signature back.

    Parameters
    ----------
    grid : Grid
        Grid of the take.
    bar : int
        Number of the held bar; the grid must hold its end.

    Returns
    -------
    Grid
        A new grid; bar numbers and bar lines are unchanged.

    Raises
    ------
    InputError
        If the grid has no such bar or no bar beside it, if the bar is not longer than its neighbours, or if it
        would need more than 255 units.
    """
    inside = [beat for beat in grid.beats if beat.bar == bar]
    after = [beat for beat in grid.beats if beat.bar == bar + 1][:1]
    if not inside or not after:
        raise InputError(f"There is no whole bar {bar} to hold; choose a bar before the last bar line.")
    tempo = _tempo_around(grid, bar)
    old = grid.metre.at(bar)
    groups = list(old.groups[: inside[0].beat - 1])
    beats: list[Beat] = []
    for beat, following in zip(inside, [*inside[1:], *after], strict=True):
        group = old.groups[beat.beat - 1]
        length = following.time - beat.time
        parts = max(1, round(length * tempo / 60 * old.denominator / (4 * group)))
        groups += [group] * parts
        beats.append(replace(beat, beat=len(groups) - parts + 1))
        beats += [
            Beat(beat.time + length * i / parts, bar, len(groups) - parts + 1 + i, confidence=beat.confidence)
            for i in range(1, parts)
        ]
    if len(groups) == len(old.groups):
        raise InputError(
            f"Bar {bar} is not held: it lasts no longer than the bars beside it; choose the bar you waited in."
        )
    if sum(groups) > 255:
        raise InputError(
            f"Bar {bar} is held for {sum(groups)} units of {old}; a time signature can say 255 at most."
        )
    metre = _with_signature(grid, bar, TimeSignature(sum(groups), old.denominator, tuple(groups)))
    before = [beat for beat in grid.beats if beat.bar < bar]
    return Grid(metre, (*before, *beats, *(beat for beat in grid.beats if beat.bar > bar)))


def _tempo_around(grid: Grid, bar: int) -> float:
    """Median tempo of the whole bars beside a bar, quarters a minute."""
    lines = grid.bar_lines
    tempi = [
        60 * float(grid.metre.at(line.bar).quarters) / (following.time - line.time)
        for line, following in pairwise(lines)
        if 0 < abs(line.bar - bar) <= _NEIGHBOURS
    ]
    if not tempi:
        raise InputError(f"Bar {bar} has no bar beside it to take a tempo from.")
    return median(tempi)


def _with_signature(grid: Grid, bar: int, signature: TimeSignature) -> Metre:
    """Give one bar its own signature."""
    metre, first = grid.metre, grid.beats[0].bar
    # The first signature also holds before its bar: pin it down where the held bar would take its place.
    changes = {min(first, metre.changes[0][0]): metre.changes[0][1], **dict(metre.changes)}
    changes.setdefault(bar + 1, metre.at(bar + 1))
    changes[bar] = signature
    added = signature.quarters - metre.at(bar).quarters
    pickup = metre.pickup + added if metre.pickup and bar == 0 else metre.pickup
    return Metre(tuple(sorted(changes.items())), pickup)
