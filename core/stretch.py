"""How the stretch up to a placed line is filled.

What was suggested before stays as far as it can; the rest is counted out anew between fixed ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import takewhile

import numpy as np

from core.between import Count, between
from core.checks import Floats
from core.metre import Metre
from core.pace import LEVEL, bar_lengths, level_of, tempo_after, tempo_between
from core.pulse import pulse_of
from core.tables import Tables
from core.way import Mark, place_of

NEAR = 0.6
"""Suggested bars stay when the one bar that remains to a placed line has a tempo this near theirs, in
logarithm; over more bars it must be nearer."""

LONG = 1.8
"""The one bar that remains may be longer than it should by this much: the player hesitated."""

LONGEST = 16
"""Bars up to which a whole stretch is thought over when nothing less will do."""

BACK = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64)
"""How many bars before a placed line are thought over when it is placed, the fewest that will do."""


def fill(tables: Tables, metre: Metre, marks: Sequence[Mark], goal: Mark, suggested: Iterable[Mark]) -> list[Mark]:
    """Marks from the last one known to a placed line, which is the last of them, with the count kept.

    Parameters
    ----------
    suggested : iterable of Mark
        What had been suggested after the marks before the line was placed.
    """
    kept = _kept(metre, marks, goal, suggested)
    begin = kept[-1] if kept else marks[-1]
    behind = [*marks, *kept, goal] if len(marks) + len(kept) < 2 else [*marks, *kept]
    positions, _, way = _counted_out(tables, metre, begin, goal, tempo_after(bar_lengths(metre, behind)))
    return [*kept, *(Mark(positions[unit], time) for unit, time in way[1:-1]), goal]


def fits(tables: Tables, metre: Metre, marks: Sequence[Mark], goal: Mark) -> float:
    """Score of the count up to a placed line; without one, how far its tempo departs from the bars before."""
    pace = tempo_between(marks[-1], goal)
    tempo = tempo_after(bar_lengths(metre, marks)) if len(marks) > 1 else pace
    _, score, _ = _counted_out(tables, metre, marks[-1], goal, tempo)
    return score if np.isfinite(score) else -1e6 - abs(pace - tempo)


def _kept(metre: Metre, marks: Sequence[Mark], goal: Mark, suggested: Iterable[Mark]) -> list[Mark]:
    """What stays of the bars that were suggested before the line was placed.

    A musician corrects from left to right: what was suggested before the line was found right, as far as
    the tempo of what remains up to the line bears it out.
    """
    bar, offset = place_of(metre, goal.position)
    if metre.quarter_of(bar + bool(offset) - 1) <= marks[-1].position:
        return []
    before = list(
        takewhile(lambda mark: mark.position < goal.position and mark.time < goal.time - 0.02, suggested)
    )
    lengths = bar_lengths(metre, [*marks, *before]) if before else []
    first, cut = place_of(metre, marks[0].position)
    best: tuple[float, list[Mark]] = (np.inf, [])
    for back in BACK:
        last = metre.quarter_of(bar + bool(offset) - back)
        if last <= marks[-1].position:
            # All of it is thought over, unless that is long and something else will nearly do.
            return best[1] if back > LONGEST else []
        kept = [mark for mark in before if mark.position <= last]
        while kept and place_of(metre, kept[-1].position)[1]:
            kept.pop()
        if not kept:
            continue
        whole = place_of(metre, kept[-1].position)[0] - first - bool(cut)
        off = tempo_between(kept[-1], goal) - tempo_after(lengths[: max(whole, 1)])
        if back == 1 and 0 < off < LONG and kept[-1].position == last:
            return kept
        strain = abs(off) * back**0.5 / NEAR
        if strain < 1:
            return kept
        best = min(best, (strain, kept), key=lambda pair: pair[0])
    return best[1]


def _counted_out(
    tables: Tables, metre: Metre, begin: Mark, end: Mark, tempo: float
) -> tuple[list[Fraction], float, list[tuple[int, float]]]:
    """Score positions of the units from one mark to another, the best score and its way through them."""
    positions, count = _count(tables, metre, begin, end)
    score, way = between(tables.onsets.time, count, begin.time, end.time, tempo, tables.costs)
    return positions, score, way


def _count(tables: Tables, metre: Metre, begin: Mark, end: Mark) -> tuple[list[Fraction], Count]:
    """The units from one mark to another, both among them."""
    positions: list[Fraction] = []
    levels: list[int] = []
    gains: list[Floats] = []
    bar, _ = place_of(metre, begin.position)
    level = level_of(tempo_between(begin, end))
    while (at := metre.quarter_of(bar)) <= end.position:
        signature = metre.at(bar)
        pulse = pulse_of(signature, float(np.exp(level * LEVEL)))
        gain = tables.costs.gain(tables.heard(signature, level).evidence)
        for unit, kind in enumerate(pulse.levels):
            position = at + unit * pulse.unit_quarters
            if begin.position <= position <= end.position:
                positions.append(position)
                levels.append(kind)
                gains.append(gain)
        bar += 1
    quarters = np.array([float(position - begin.position) for position in positions])
    return positions, Count(quarters, np.array(levels), gains)
