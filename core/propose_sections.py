"""Sections of a take, proposed from what is heard again in it and from where the music becomes another.

A proposal begins where a stretch begins or ends that is heard again elsewhere (`core.repeats`), or where the music
changes most (`core.novelty`). Sections that are the same music get the same letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count, pairwise

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.document import Section
from core.grid import Grid
from core.likeness import harmonies
from core.novelty import features_of, novelty
from core.onsets import Onsets
from core.repeats import repeats
from core.section_looks import root_of, stem_of
from core.section_names import letters, numbered

Ints = NDArray[np.int64]

SHORTEST = 8
"""Bars a proposed section has at least."""

NEW, NEWER = 0.2, 0.35
"""How new a bar must be to begin a section: where nothing is heard again, and within what is."""

_REPEAT, _LONG, _LONGEST = 0.3, 0.01, 40
"""What the edge of a repeated stretch counts, and for each of its bars, beside how new the music is there."""

_SLOWING = 0.5
"""What it counts that the bar before is slower: phrases end slower than they go on (Todd 1985, from memory)."""

_AROUND = 2
"""Bars by which two sections are moved against each other to find out whether they are alike."""

_ALIKE = 0.6
"""Share of the longer of two sections that must lie on the other, for both to be the same music."""

_MOVED = SHORTEST // 2 - 1
"""Bars by which the musician moves the edge of a section and still means the same one."""

_SAMPLED = 500
"""Bars from which is told how alike bars are, or a few more; all are compared with them."""

_CLEAR = 0.05
"""By how much sections of the same music are more alike than bars usually are."""


def propose_sections(onsets: Onsets, grid: Grid) -> tuple[Section, ...]:
    """Propose sections of a take.

    Parameters
    ----------
    onsets : Onsets
        What was heard.
    grid : Grid
        Its bars.

    Returns
    -------
    tuple of Section
        In order of bars; they cover all of the grid. Empty where it is too short to be divided, or all of a piece.
    """
    lines = grid.bar_lines
    if len(lines) <= 2 * SHORTEST or not len(onsets):
        return ()
    alike = _alike(onsets, grid)
    usual = _usual(alike)
    away = repeats(alike, usual)
    edges = _edges(away, novelty(features_of(onsets, grid)), grid.bar_times)
    if len(edges) <= 2:
        return ()
    names = _names(edges, alike - usual)
    return tuple(Section(lines[edge].bar, name) for edge, name in zip(edges, names, strict=False))


def beside(proposed: Sequence[Section], own: Sequence[Section]) -> tuple[Section, ...]:
    """Proposals that begin where no section does yet, named to go with the sections that are there.

    A section that begins a few bars away is the same one, put right. Where one of several that are the same music
    has a name, the others are called after it.

    Parameters
    ----------
    proposed, own : sequence of Section
        In order of bars.
    """
    named = {section.bar: _meant(section, own) for section in proposed}
    used = {section.name for section in own}
    roots = {root_of(name) for name in used}
    stems: dict[str, str] = {}
    for section in proposed:
        if name := named[section.bar]:
            stems.setdefault(root_of(section.name), stem_of(name))
    free = (letter for letter in map(letters, count()) if root_of(letter) not in roots)
    result = []
    for section in proposed:
        root = root_of(section.name)
        if not named[section.bar]:
            stem = stems[root] if root in stems else stems.setdefault(root, next(free))
            name = next(name for name in numbered(stem) if name not in used)
            used.add(name)
            result.append(Section(section.bar, name))
    return tuple(result)


def _meant(proposed: Section, own: Sequence[Section]) -> str:
    """Name of the section that is a proposal with its edge put right; empty where there is none."""
    near = [section for section in own if abs(section.bar - proposed.bar) <= _MOVED]
    return min(near, key=lambda section: abs(section.bar - proposed.bar)).name if near else ""


def _alike(onsets: Onsets, grid: Grid) -> Floats:
    """How alike the harmonies of bars are, part by part, shape (bars, bars); bars in other metres are not."""
    times = grid.bar_times
    sums = np.vstack([np.zeros(12), np.cumsum(onsets.chroma * onsets.count[:, None], axis=0)])
    rows = harmonies(onsets.time, sums, times[:-1], times[1:])
    rows = (rows / (np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9)).astype(np.float32)
    lengths = grid.bar_lengths
    return np.asarray(rows @ rows.T * (lengths[:, None] == lengths))


def _usual(alike: Floats) -> float:
    """How alike bars of this take are at most that only share its key and its figures."""
    step = max(1, len(alike) // _SAMPLED)
    rows = np.arange(0, len(alike), step)
    pairs = alike[rows][rows[:, None] + SHORTEST <= np.arange(len(alike))]
    return float(np.clip(np.quantile(pairs, 0.9) + 0.05, 0.3, 0.6))


def _edges(away: Ints, new: Floats, times: Floats) -> list[int]:
    """Places of the bars that sections begin with, and of the last bar line; the clearest are settled first."""
    bars = len(away)
    length = np.log(np.diff(times))
    slowing = np.append(0.0, np.clip(length[:-1] - length[1:], 0.0, 1.0))
    # What is heard again is divided at the same places: each bar hears what is said of its other self.
    other = np.arange(bars) + away
    new, slowing = (new + new[other]) / 2, (slowing + slowing[other]) / 2
    weight: dict[int, float] = {}
    for bar, longest in _changes(away):
        best = _phrase_end(bar, 1, 0.1, _SLOWING * slowing)
        weight[best] = max(weight.get(best, 0.0), float(new[best]) + _REPEAT + _LONG * min(longest, _LONGEST))
    for bar in range(SHORTEST, bars - SHORTEST + 1):
        peak = new[bar] >= new[max(bar - SHORTEST // 2, 0) : bar + SHORTEST // 2 + 1].max()
        if peak and new[bar] >= (NEWER if away[bar] else NEW):
            best = _phrase_end(bar, 2, 0.02, _SLOWING * slowing + new)
            weight[best] = max(weight.get(best, 0.0), float(new[best]))
    edges = [0, bars]
    for bar in sorted(weight, key=lambda at: (-weight[at], at)):
        if min(abs(bar - edge) for edge in edges) >= SHORTEST:
            edges.append(bar)
    return sorted(edges)


def _changes(away: Ints) -> list[tuple[int, int]]:
    """Bars at which a repeated stretch begins or ends, here or in what it repeats, and the bars it has."""
    places = [0, *np.flatnonzero(np.diff(away)).tolist(), len(away) - 1]
    runs = [(begin + 1, end + 1, int(away[end])) for begin, end in pairwise(places)]
    runs[0] = (0, *runs[0][1:])
    changes = [
        (bar, max((end - begin) * bool(lag) for begin, end, lag in beside))
        for *beside, bar in ((before, after, after[0]) for before, after in pairwise(runs))
    ]
    there = [
        (bar - lag, longest)
        for begin, end, lag in runs
        for bar, longest in changes
        if lag and begin < bar - lag < end
    ]
    return [*changes, *there]


def _phrase_end(bar: int, reach: int, cost: float, ends: Floats) -> int:
    """The bar nearby before which a phrase seems to end, if one does; cost is what a bar away from it counts."""
    near = range(max(bar - reach, 1), min(bar + reach + 1, len(ends)))
    return max(near, key=lambda at: ends[at] - cost * abs(at - bar))


def _names(edges: Sequence[int], clear: Floats) -> list[str]:
    """Letter of each section, and a number from the second on that is the same music."""
    firsts: list[tuple[int, int]] = []
    heard: list[int] = []
    names = []
    for begin, end in pairwise(edges):
        same = [_same(firsts[i], (begin, end), clear) for i in range(len(firsts))]
        best = int(np.argmax(same)) if same else 0
        if not same or same[best] < _CLEAR:
            best = len(firsts)
            firsts.append((begin, end))
            heard.append(0)
        heard[best] += 1
        names.append(letters(best) + (str(heard[best]) if heard[best] > 1 else ""))
    return names


def _same(one: tuple[int, int], other: tuple[int, int], clear: Floats) -> float:
    """By how much two sections are more alike than usual where they lie on each other best, or 0."""
    longer = max(one[1] - one[0], other[1] - other[0])
    best = 0.0
    for shift in range(-_AROUND, _AROUND + 1):
        first = max(one[0], other[0] - (other[0] - one[0]) - shift)
        count = min(one[1], one[0] + other[1] - other[0] - shift) - first
        if count >= _ALIKE * longer:
            rows = np.arange(first, first + count)
            best = max(best, float(clear[rows, rows + other[0] - one[0] + shift].mean()))
    return best
