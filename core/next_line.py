"""Where the next bar line could be, and what speaks for each place.

Each place is described by numbers: what the search and the networks say of it, how its bar's length fits the
tempo and how steady that has been, how alike its bar is to the bars before, and how alike its onset is to those
the last bar lines lay on. `core.ranking` weighs them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np

from core.checks import Floats
from core.evidence import Heard
from core.likeness import harmonies, rhythms
from core.line_places import SILENT, Places, above_neighbours, gaps
from core.long_table import LongTable
from core.metre import TimeSignature
from core.onsets import Onsets
from core.pace import tempo_after

LINES = 17
"""Bar lines up to now that are looked at."""

LIKE = 8
"""Bars before that a bar is compared with."""

SHORTEST, LONGEST = 0.4, 3.2
"""A bar is looked for within these multiples of the length it should have."""

MOST = 100
"""Onsets looked at for one bar line."""

STEADIEST, FREEST, USUAL = 0.015, 0.3, 0.06
"""Bounds for the change of tempo from bar to bar that a take has shown, and what is supposed at its start."""


@dataclass(frozen=True, slots=True)
class Past:
    """All that the next bar line hangs on: the bar lines up to now, and how the bars around here are counted.

    Parameters
    ----------
    lines : tuple of float
        The last bar lines, at most `LINES`, at least two; the last of them begins the bar, seconds.
    lengths : tuple of float
        Log seconds of a quarter in the bars before, at most nine.
    level : int
        Level of tempo of the tables.
    before, own, after : TimeSignature
        Of the bar before the last line, of the bar it begins, and of the one after that.
    """

    lines: tuple[float, ...]
    lengths: tuple[float, ...]
    level: int
    before: TimeSignature
    own: TimeSignature
    after: TimeSignature


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Sums of notes (n + 1,) and of pitch classes (n + 1, 12) up to each onset."""

    notes: Floats
    chroma: Floats

    @classmethod
    def of(cls, onsets: Onsets) -> Sums:
        """Sum up a take."""
        return cls(
            np.concatenate([[0.0], np.cumsum(onsets.count)]),
            np.concatenate([np.zeros((1, 12)), np.cumsum(onsets.chroma, axis=0)]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """A take as it is read when its bars are counted as a `Past` says.

    Parameters
    ----------
    onsets : Onsets
    sums : Sums
        Of the onsets.
    heard : Heard
        What the networks make of the onsets.
    own, after : LongTable
        Of the bar that the next line ends, and of the one after.
    """

    onsets: Onsets
    sums: Sums
    heard: Heard
    own: LongTable
    after: LongTable


def places(onsets: Onsets, past: Past, searched: float) -> Places:
    """All onsets that could be the next bar line, and the moments it is due where no onset is near.

    Parameters
    ----------
    searched : float
        Seconds at which the search suggests it.
    """
    time, last = onsets.time, past.lines[-1]
    due = float(np.exp(tempo_after(past.lengths))) * float(past.own.quarters)
    first, end = np.searchsorted(time, [last + max(SHORTEST * due, 0.06), last + LONGEST * due])
    node = np.arange(first, min(end, first + MOST))
    return Places.of(time, node, (moment for moment in (searched, last + due) if moment > last + 0.06))


def features(reading: Reading, past: Past, here: Places, searched: float) -> Floats:
    """Describe each place.

    Returns
    -------
    (places, FEATURES) float
    """
    same = float(past.own == past.before)
    due = float(np.exp(tempo_after(past.lengths))) * float(past.own.quarters)
    alone = np.ones(len(here.time))
    columns = [
        np.abs(here.time - searched) <= 0.03,
        here.silent,
        alone * same,
        alone * np.log(due),
        *_said(reading, past, here, due),
        *_pace(past, here),
        *(column * same for column in _like_bars(reading, past, here)),
        *_like_lines(reading, past, here, due),
        *gaps(reading.onsets, here, due),
    ]
    return np.stack(columns, axis=1)


def _said(reading: Reading, past: Past, here: Places, due: float) -> list[Floats]:
    """What the search says of the music after a place, and the networks of its onset."""
    tempo = tempo_after(past.lengths)
    off = np.log((here.time - past.lines[-1]) / due)
    table, first = reading.after.at(past.lines[-1])
    after = table.steps.tempo_bins(tempo + 0.5 * np.clip(off, -0.5, 0.5))
    score = table.score[np.minimum(here.node - first, len(table.score) - 1), 0, after].astype(np.float64)
    evidence = np.where(here.silent[:, None], SILENT, reading.heard.evidence[here.node])
    return [score - score.max(), *evidence.T, above_neighbours(evidence[:, 2], here, due)]


def _pace(past: Past, here: Places) -> list[Floats]:
    """How the length of the bar departs from the bars before, as it is and against how steady they were."""
    lengths = past.lengths
    length = np.log((here.time - past.lines[-1]) / float(past.own.quarters))
    off, off_all = length - tempo_after(lengths), np.abs(length - median(lengths[-LIKE:]))
    changes = [abs(b - a) for a, b in pairwise(lengths)]
    spread = min(max(median(changes) if len(changes) > 2 else USUAL, STEADIEST), FREEST)
    size = np.abs(off)
    return [
        off,
        size,
        np.maximum(off, 0.0),
        np.abs(length - lengths[-1]),
        off_all,
        size / spread,
        off_all / spread,
        np.full(len(off), spread),
    ]


def _like_bars(reading: Reading, past: Past, here: Places) -> list[Floats]:
    """How alike the bar up to each place is to the bars before."""
    time, sums, lines = reading.onsets.time, reading.sums, np.array(past.lines[-LIKE - 1 :])
    before = len(lines) - 1
    begins = np.concatenate([lines[:-1], np.full(len(here.time), lines[-1])])
    ends = np.concatenate([lines[1:], here.time])
    rhythm, counts = rhythms(time, begins, ends)
    harmony = harmonies(time, sums.chroma, begins, ends)
    alike, harmony = rhythm[before:] @ rhythm[:before].T, harmony[before:] @ harmony[:before].T
    counts, count = counts[:before], counts[before:]
    often = np.bincount(counts)
    up_to = np.searchsorted(time, np.append(lines[-2:], here.time) - 0.02)
    notes = np.diff(sums.notes[up_to[:2]])[0], sums.notes[up_to[2:]] - sums.notes[up_to[1]]
    return [
        np.abs(np.log((count + 0.5) / (counts[-1] + 0.5))),
        (count == counts[-1]).astype(np.float64),
        (count == often.argmax()) * often.max() / len(counts),
        np.minimum(np.abs(count[:, None] - counts[-4:]).min(axis=1), 8) / 8,
        np.abs(np.log((notes[1] + 0.5) / (notes[0] + 0.5))),
        alike[:, -1],
        alike.max(axis=1),
        alike.mean(axis=1),
        harmony[:, -1],
        harmony.max(axis=1),
        np.full(len(count), np.log(counts[-1] + 1.0)),
        np.log((count + 1.0) / (counts.mean() + 1.0)),
    ]


def _like_lines(reading: Reading, past: Past, here: Places, due: float) -> list[Floats]:
    """How alike each onset is to those of the bar lines so far: in itself, and to the networks."""
    onsets, seen = reading.onsets, reading.heard.inside
    lines = np.clip(np.searchsorted(onsets.time, np.array(past.lines) - 0.004), 0, len(onsets) - 1)
    low, count = np.take(onsets.low, here.node), np.log(onsets.count[here.node])
    recent = lines[-LIKE:]
    alike = [
        np.abs(low - median(onsets.low[lines].tolist())) / 12,
        (onsets.strength[here.node] - median(onsets.strength[lines].tolist())) / 10,
        count - np.log(onsets.count[lines]).mean(),
        np.abs(low[:, None] - onsets.low[lines[-4:]]).min(axis=1) / 12,
        (onsets.chroma[here.node] @ onsets.chroma[recent].T).max(axis=1),
    ]
    # The networks' last layer refitted to this take in closed form: two clouds of the same shape, one of the
    # onsets on bar lines, one of all others; few lines say little.
    between = seen[lines[0] : lines[-1] + 1]
    on = seen[lines].mean(axis=0)
    off = (between.sum(axis=0) - seen[lines].sum(axis=0)) / max(len(between) - len(lines), 1)
    onset = seen[here.node]
    refitted = (onset - 0.5 * (on + off)) @ (on - off) * (len(lines) / (len(lines) + 4.0))
    distance = ((onset[:, None] - seen[recent]) ** 2).mean(axis=2)
    alike += [refitted, -distance.min(axis=1), -distance[:, -1]]
    alike = [np.where(here.silent, 0.0, column) for column in alike]
    return [*alike, above_neighbours(alike[5], here, due)]


FEATURES = 4 + 5 + 8 + 12 + 9 + 2
"""Number of features of a place; the fitted weights go by their order."""
