"""From a way through a take to its grid: every beat with its time, and how sure each bar line is."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction
from statistics import median

import numpy as np

from core.grid import Beat, Grid
from core.metre import Metre
from core.pace import lengths_at, levels_after
from core.ranking import Judged, Line
from core.tables import Tables
from core.way import Mark, place_of, times_at


def laid_out(tables: Tables, metre: Metre, marks: Sequence[Mark], placed: Collection[Fraction]) -> Grid:
    """Lay the beats of every bar along the marks.

    Parameters
    ----------
    marks : sequence of Mark
        At least two.
    placed : collection of Fraction
        Score positions that the musician placed.
    """
    times = {mark.position: mark.time for mark in marks}
    where = _beats(metre, marks)
    at = times_at(marks, [w[2] for w in where])
    begun = [i for i, (_, _, position) in enumerate(where) if position <= marks[0].position]
    skip = max(begun, default=0)
    while at[skip] < 0:
        skip += 1
    where, at = where[skip:], at[skip:]
    judged = _judged(tables, metre, marks, placed, [position for _, beat, position in where if beat == 1])
    sure = Judged(1.0, ())
    beats: list[Beat] = []
    for (bar, beat, position), time in zip(where, at, strict=True):
        verdict = (
            sure
            if position in placed
            else judged.get(position, Judged(beats[-1].confidence if beats else 0.5, ()))
        )
        beats.append(
            Beat(
                times.get(position, float(time)),
                bar,
                beat,
                placed=position in placed,
                confidence=verdict.confidence,
                alternatives=verdict.alternatives,
            )
        )
    return Grid(metre, tuple(beats))


def _beats(metre: Metre, marks: Sequence[Mark]) -> list[tuple[int, int, Fraction]]:
    """Bar, beat and score position of every beat from the bar of the first mark to the end of the last one's."""
    first, _ = place_of(metre, marks[0].position)
    last, offset = place_of(metre, marks[-1].position)
    last += bool(offset)
    where: list[tuple[int, int, Fraction]] = []
    start = metre.quarter_of(first)
    for bar in range(first, last + 1):
        signature = metre.at(bar)
        where += [(bar, beat, start + at) for beat, at in enumerate(signature.beat_quarters, 1)]
        start += signature.quarters
    end = metre.quarter_of(last)
    return [w for w in where if w[2] <= end and (not metre.pickup or w[2] >= -metre.pickup)]


def _judged(
    tables: Tables,
    metre: Metre,
    marks: Sequence[Mark],
    placed: Collection[Fraction],
    lines: Sequence[Fraction],
) -> dict[Fraction, Judged]:
    """How sure each suggested bar line is, and its alternatives."""
    if len(lines) < 2:
        return {}
    times = times_at(marks, lines)
    lengths = lengths_at(marks, lines)
    levels = levels_after(lengths)
    out: dict[Fraction, Judged] = {}
    for i, position in enumerate(lines):
        if position in placed:
            continue
        # The first line has no bar before it: it is judged by the one after.
        before = max(i - 1, 0)
        tempo = median(lengths[max(0, before - 3) : max(before, 1)])
        signature = metre.at(place_of(metre, lines[before])[0])
        bar = float(signature.quarters) * np.exp(tempo)
        begin = float(times[i - 1]) if i else float(times[0] - bar)
        out[position] = tables.judged(signature, levels[before], Line(begin, float(times[i]), tempo))
    return out
