"""From a way through a take to its grid: every beat with its time, and how sure each bar line is."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from statistics import median

import numpy as np

from core.grid import Beat, Grid
from core.metre import Metre
from core.pace import lengths_at, levels_after
from core.ranking import Judged, Line
from core.tables import Tables
from core.way import Mark, place_of, times_at

PLACED = Judged(1.0, ())
"""The verdict on what the musician placed."""


def laid_out(tables: Tables, metre: Metre, marks: Sequence[Mark], known: Mapping[Fraction, Judged]) -> Grid:
    """Lay the beats of every bar along the marks.

    Parameters
    ----------
    marks : sequence of Mark
        At least two.
    known : mapping of Fraction to Judged
        Verdicts on some score positions, `PLACED` for those that the musician placed.
    """
    first, _ = place_of(metre, marks[0].position)
    last, offset = place_of(metre, marks[-1].position)
    where = _beats(metre, first, last + bool(offset))
    at = times_at(marks, [w[2] for w in where])
    skip = max(bisect_right(where, marks[0].position, key=lambda w: w[2]) - 1, 0)
    while at[skip] < 0:
        skip += 1
    where, at = where[skip:], at[skip:]
    judged = _judged(tables, metre, marks, known, [position for _, beat, position in where if beat == 1])
    beats: list[Beat] = []
    for (bar, beat, position), time in zip(where, at.tolist(), strict=True):
        verdict = judged.get(position) or Judged(beats[-1].confidence if beats else 0.5, ())
        beats.append(
            Beat(
                time,
                bar,
                beat,
                placed=verdict is PLACED,
                confidence=verdict.confidence,
                alternatives=verdict.alternatives,
            )
        )
    return Grid(metre, tuple(beats))


@lru_cache(maxsize=64)
def _beats(metre: Metre, first: int, last: int) -> tuple[tuple[int, int, Fraction], ...]:
    """Bar, beat and score position of every beat from one bar line to another, both among them."""
    where: list[tuple[int, int, Fraction]] = []
    start = metre.quarter_of(first)
    for bar in range(first, last):
        signature = metre.at(bar)
        where += [(bar, beat, start + at) for beat, at in enumerate(signature.beat_quarters, 1)]
        start += signature.quarters
    where.append((last, 1, start))
    return tuple(w for w in where if not metre.pickup or w[2] >= -metre.pickup)


def _judged(
    tables: Tables,
    metre: Metre,
    marks: Sequence[Mark],
    known: Mapping[Fraction, Judged],
    lines: Sequence[Fraction],
) -> dict[Fraction, Judged]:
    """How sure each bar line is, and its alternatives."""
    out = dict(known)
    if len(lines) < 2:
        return out
    times = times_at(marks, lines)
    lengths = lengths_at(marks, lines)
    levels = levels_after(lengths)
    for i, position in enumerate(lines):
        if position in out:
            continue
        # The first line has no bar before it: it is judged by the one after.
        before = max(i - 1, 0)
        tempo = median(lengths[max(0, before - 3) : max(before, 1)])
        signature = metre.at(place_of(metre, lines[before])[0])
        bar = float(signature.quarters) * np.exp(tempo)
        begin = float(times[i - 1]) if i else float(times[0] - bar)
        out[position] = tables.judged(signature, levels[before], Line(begin, float(times[i]), tempo))
    return out
