"""Where a bar line between two that were tapped could be, and what speaks for each place.

Taps on both sides say more than the bars before alone: how the stretch is divided, how alike its parts are to one
another and to the bars around and anywhere in the take. `core.tap_between` has a chooser weigh it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.evidence import Heard
from core.likeness import harmonies, rhythms
from core.line_places import SILENT, Places, above_neighbours, gaps
from core.next_line import Sums
from core.onsets import Onsets
from core.pulse import BAR

UNEVEN = 1.6
"""The two parts of a stretch differ no more than this in tempo, in logarithm."""

MOST = 80
"""Onsets looked at for one line."""

NO_WAY = -25.0
"""What a place is worth that the search does not reach."""

SHORTEST = 0.05
"""Seconds that a bar lasts at least."""

ROUNDING = 1e-6
"""Quarters by which sums of lengths that are the same can differ."""

NEAR = 4
"""Bars on each side that a bar is compared with."""

LINES = 8
"""Bar lines on each side whose onsets an onset is compared with."""


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """The bar lines as they are supposed so far, one a bar.

    Parameters
    ----------
    first : int
        Bar of the first.
    time : (bars,) float
        Seconds.
    quarters : (bars,) float
        Length of each bar in the score.
    tapped : (bars,) bool
        Which are known.
    """

    first: int
    time: Floats
    quarters: Floats
    tapped: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch that a line divides.

    Parameters
    ----------
    bar, begin, end : int
        Bar of the line, of the known line before, and of the one after.
    expected : float
        Seconds at which the tempo around puts the line.
    searched : float
        Seconds at which the search through the beats puts it.
    spread : float
        How freely the tempo is played around here, as a share of the stretch.
    """

    bar: int
    begin: int
    end: int
    expected: float
    searched: float
    spread: float


def places(time: Floats, lines: Lines, stretch: Stretch) -> Places:
    """All onsets that could be the line, and the moments it is due where no onset is near."""
    begin, end = (float(lines.time[bar - lines.first]) for bar in (stretch.begin, stretch.end))
    left, right = _quarters(lines, stretch)
    earliest, latest = (left / (left + right * np.exp(by)) for by in (UNEVEN, -UNEVEN))
    first, last = np.searchsorted(time, (begin + earliest * (end - begin), begin + latest * (end - begin)))
    node = np.arange(first, last)
    if len(node) > MOST:
        node = np.sort(node[np.argsort(np.abs(time[node] - stretch.expected), kind="stable")[:MOST]])
    even = begin + (end - begin) * left / (left + right)
    return Places.of(time, node, (stretch.searched, stretch.expected, even))


def _quarters(lines: Lines, stretch: Stretch) -> tuple[float, float]:
    begin, bar, end = (at - lines.first for at in (stretch.begin, stretch.bar, stretch.end))
    return float(lines.quarters[begin:bar].sum()), float(lines.quarters[bar:end].sum())


def features(
    onsets: Onsets,
    sums: Sums,
    heard: Heard,
    raw: Floats,
    lines: Lines,
    stretch: Stretch,
    here: Places,
    way: Floats,
) -> Floats:
    """Describe each place, shape (places, FEATURES).

    Parameters
    ----------
    way : (n,) float
        What the best way through each onset is worth to the search.
    """
    begin, end = (float(lines.time[bar - lines.first]) for bar in (stretch.begin, stretch.end))
    left, right = _quarters(lines, stretch)
    columns = [
        np.abs(here.time - stretch.searched) <= 0.03,
        here.silent,
        np.full(len(here.time), float(left == right)),
        np.full(len(here.time), np.log((end - begin) / (left + right))),
        np.full(len(here.time), np.log(end - begin)),
        *_pace(lines, stretch, here, begin, end, left, right),
        *_said(
            heard,
            raw,
            here,
            way,
            (end - begin) / (left + right) * float(lines.quarters[stretch.bar - lines.first]),
        ),
        *_like_bars(onsets, sums, lines, stretch, here, begin, end),
        *_like_lines(onsets, heard, lines, stretch, here, end - begin),
        *gaps(onsets, here, end - begin),
    ]
    return np.stack(columns, axis=1).astype(np.float64)


def _pace(
    lines: Lines, stretch: Stretch, here: Places, begin: float, end: float, left: float, right: float
) -> list[Floats]:
    """How the parts depart from one another and from the bars beside them."""
    first, last = np.log((here.time - begin) / left), np.log((end - here.time) / right)
    uneven = last - first
    at = lines.time
    i, k = stretch.begin - lines.first, stretch.end - lines.first
    mean = np.log((end - begin) / (left + right))
    before = np.log(max(at[i] - at[i - 1], SHORTEST) / lines.quarters[i - 1]) if i else mean
    after = np.log(max(at[k + 1] - at[k], SHORTEST) / lines.quarters[k]) if k + 1 < len(at) else mean
    bent = np.log((end - stretch.expected) / (stretch.expected - begin) * left / right)
    off = uneven - bent
    spread = stretch.spread
    jolt = np.abs(first - before) + np.abs(uneven) + np.abs(after - last)
    bend = np.abs(uneven - (first - before)) + np.abs((after - last) - uneven)
    return [
        uneven,
        np.abs(uneven),
        off,
        np.abs(off),
        np.abs(off) / (4 * spread),
        np.log1p((off / (4 * spread)) ** 2),
        jolt,
        jolt / (4 * spread),
        bend,
        bend / (4 * spread),
        np.maximum(uneven, 0.0),
        np.full(len(off), spread),
        np.abs(here.time - stretch.searched) / (end - begin),
    ]


def _said(heard: Heard, raw: Floats, here: Places, way: Floats, due: float) -> list[Floats]:
    evidence = np.where(here.silent[:, None], SILENT, heard.evidence[here.node])
    bar = np.where(here.silent, SILENT, raw[here.node])
    through = np.where(here.silent, NO_WAY, np.maximum(way[here.node], NO_WAY))
    return [
        *evidence.T,
        bar,
        through,
        above_neighbours(through, here, due),
        above_neighbours(evidence[:, BAR], here, due),
        evidence[:, BAR] - evidence[:, BAR].max(),
    ]


def _like_bars(
    onsets: Onsets, sums: Sums, lines: Lines, stretch: Stretch, here: Places, begin: float, end: float
) -> list[Floats]:
    """How alike the two parts are to one another, to the bars around and to any in the take."""
    i, j, k = (at - lines.first for at in (stretch.begin, stretch.bar, stretch.end))
    count, alone = len(here.time), np.ones(len(here.time))
    m, n = j - i, k - j
    # Lines that wait for their turn may still cross.
    at = np.maximum.accumulate(lines.time)
    parts_begin = np.concatenate([np.full(count, begin), here.time])
    parts_end = np.concatenate([here.time, np.full(count, end)])
    # Pairs of parts elsewhere that are as many bars long.
    start = np.arange(len(at) - m - n)
    to = np.concatenate([[0.0], np.cumsum(lines.quarters)])
    same = (np.abs(to[start + m] - to[start] - (to[j] - to[i])) < ROUNDING) & (
        np.abs(to[start + m + n] - to[start + m] - (to[k] - to[j])) < ROUNDING
    )
    start = start[same & ((start + m + n <= i) | (start >= k))]
    begins = np.concatenate([parts_begin, at[start], at[start + m]])
    ends = np.concatenate([parts_end, at[start + m], at[start + m + n]])
    r, counts = rhythms(onsets.time, begins, ends)
    h = harmonies(onsets.time, sums.chroma, begins, ends)
    c, s = count, len(start)
    out: list[Floats] = []
    near = np.argsort(np.abs(start - i), kind="stable")[: 2 * NEAR]
    for what in (r, h):
        a, b, x, y = what[:c], what[c : 2 * c], what[2 * c : 2 * c + s], what[2 * c + s :]
        out.append((a * b).sum(axis=1))
        if s:
            both = 0.5 * (a @ x.T + b @ y.T)
            out += [both.max(axis=1), both[:, near].mean(axis=1), both[:, near].max(axis=1)]
        else:
            out += [0.5 * alone, 0.5 * alone, 0.5 * alone]
    many: Floats = np.log(counts + 0.5)
    out.append(np.abs(many[:c] - many[c : 2 * c] + np.log(n / m)))
    if s:
        apart = [
            np.abs(part[:, None] - others[near])
            for part, others in (
                (many[:c], many[2 * c : 2 * c + s]),
                (many[c : 2 * c], many[2 * c + s :]),
            )
        ]
        out += [apart[0].mean(axis=1) + apart[1].mean(axis=1), apart[0].min(axis=1) + apart[1].min(axis=1)]
    else:
        out += [alone, alone]
    return out


def _like_lines(
    onsets: Onsets, heard: Heard, lines: Lines, stretch: Stretch, here: Places, length: float
) -> list[Floats]:
    """How alike each onset is to those of the bar lines around, in itself and to the networks."""
    i, k = stretch.begin - lines.first, stretch.end - lines.first
    index = np.arange(len(lines.time))
    known = index[lines.tapped]
    order = known[np.argsort(np.minimum(np.abs(known - i), np.abs(known - k)), kind="stable")[: 2 * LINES]]
    nodes = np.clip(np.searchsorted(onsets.time, lines.time[order] - 0.004), 0, len(onsets) - 1)
    other = index[~lines.tapped & (index != stretch.bar - lines.first)]
    order = other[np.argsort(np.abs(other - i), kind="stable")[:LINES]]
    twins = np.clip(np.searchsorted(onsets.time, lines.time[order] - 0.004), 0, len(onsets) - 1)
    low, count, seen = onsets.low[here.node], np.log(onsets.count[here.node]), heard.inside
    own = seen[here.node]
    distance = ((own[:, None] - seen[nodes]) ** 2).mean(axis=2)
    columns = [
        np.abs(low - np.median(onsets.low[nodes])) / 12,
        (onsets.strength[here.node] - np.median(onsets.strength[nodes])) / 10,
        count - np.log(onsets.count[nodes]).mean(),
        np.abs(low[:, None] - onsets.low[nodes[:4]]).min(axis=1) / 12,
        (onsets.chroma[here.node] @ onsets.chroma[nodes].T).max(axis=1),
        -distance.min(axis=1),
        -np.sort(distance, axis=1)[:, :3].mean(axis=1),
        -((own[:, None] - seen[twins]) ** 2).mean(axis=2).min(axis=1) if len(twins) else np.zeros(len(low)),
    ]
    columns = [np.where(here.silent, 0.0, column) for column in columns]
    return [*columns, above_neighbours(columns[5], here, 0.5 * length)]


FEATURES = 5 + 13 + 8 + 11 + 9 + 2
"""Number of features of a place; the fitted weights go by their order."""
