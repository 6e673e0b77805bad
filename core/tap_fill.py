"""Bar lines between those tapped: searched through the beats, then weighed against all other places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from core.checks import Floats
from core.chooser import Chooser
from core.evidence import Heard
from core.line_places import Places
from core.metre import Metre, TimeSignature
from core.next_line import Sums
from core.onsets import Onsets
from core.pulse import BAR
from core.tap_between import Searched, search
from core.tap_middle import Lines, Stretch, features, places
from core.way import Mark, place_of

WIDEST = 8
"""Where more bars than this lie between two known lines, what the search finds is left as it is."""

SAME, ASTRAY = 0.04, 0.25
"""Places nearer than this many seconds are the same to a musician, and vote together; a line off by more than this
share of a bar helps nobody, which counts as much as whether it is right."""


class Filled(NamedTuple):
    """A bar line that was not tapped."""

    bar: int
    time: float
    confidence: float


class Line(NamedTuple):
    """A line to be found, and the bars of the lines on both sides that are known by then."""

    bar: int
    begin: int
    end: int


def fill(
    known: Sequence[Mark],
    metre: Metre,
    onsets: Onsets,
    heard: Mapping[TimeSignature, Heard],
    taught: Mapping[TimeSignature, Heard],
    chooser: Chooser,
) -> list[Filled]:
    """The bar lines between known moments.

    Parameters
    ----------
    known : sequence of Mark
        In order.
    heard, taught : mapping of TimeSignature to Heard
        What the networks make of the onsets for every signature between, and the same after the known lines
        have been seen.
    """
    filling = Filling(known, metre, onsets, heard, taught)
    for line in filling.order:
        here, described = filling.described(line)
        share = np.exp(chooser(described))
        apart = np.abs(here.time[:, None] - here.time)
        together = np.where(apart <= SAME, share, 0.0).sum(axis=1)
        best = np.argmax(together + np.where(apart <= ASTRAY * filling.bar(line), share, 0.0).sum(axis=1))
        near = np.flatnonzero(apart[best] <= SAME)
        filling.put(line.bar, float(here.time[near[share[near].argmax()]]), min(float(together[best]), 1.0))
    return filling.filled


class Filling:
    """The bar lines between known ones while they are found; parameters as for `fill`."""

    def __init__(
        self,
        known: Sequence[Mark],
        metre: Metre,
        onsets: Onsets,
        heard: Mapping[TimeSignature, Heard],
        taught: Mapping[TimeSignature, Heard],
    ) -> None:
        self._metre, self._onsets, self._sums = metre, onsets, Sums.of(onsets)
        self._heard, self._taught = heard, taught
        self._of: dict[int, Searched] = {}
        self._found: dict[int, Filled] = {}
        self._ways: dict[int, Floats] = {}
        self._order: list[Line] = []
        times = {place_of(metre, mark.position)[0]: mark.time for mark in known if _opens(mark, metre)}
        evidence = {signature: one.evidence for signature, one in taught.items()}
        for searched in search(known, metre, onsets.time, evidence):
            for line in searched.lines:
                self._of[line.bar], times[line.bar] = searched, line.time
                self._found[line.bar] = Filled(line.bar, line.time, line.confidence)
            bars = [line.bar for line in searched.lines]
            if (
                len(onsets)
                and _opens(searched.begin, metre)
                and _opens(searched.end, metre)
                and len(bars) < WIDEST
                and all(metre.at(bar) in taught for bar in bars)
            ):
                self._order += _in_turn(bars[0] - 1, bars[-1] + 1)
        bars = sorted(times)
        self._lines = Lines(
            bars[0] if bars else 0,
            np.array([times[bar] for bar in bars]),
            np.array([float(metre.at(bar).quarters) for bar in bars]),
            np.array([bar not in self._found for bar in bars], dtype=np.bool_),
        )

    @property
    def order(self) -> Sequence[Line]:
        """The lines to be weighed, which lie between two bar lines, each after those it hangs on."""
        return self._order

    @property
    def filled(self) -> list[Filled]:
        """All lines as they are found so far, in order."""
        return [self._found[bar] for bar in sorted(self._found)]

    def bar(self, line: Line) -> float:
        """Seconds a bar lasts on average between the lines on both sides of one."""
        begin, end = (self._lines.time[bar - self._lines.first] for bar in (line.begin, line.end))
        return float(end - begin) / (line.end - line.begin)

    def put(self, bar: int, time: float, confidence: float) -> None:
        """Say where a line is."""
        self._found[bar] = Filled(bar, time, confidence)
        self._lines.time[bar - self._lines.first] = time

    def described(self, line: Line) -> tuple[Places, Floats]:
        """Where a line could be, and what speaks for each place."""
        searched, signature = self._of[line.bar], self._metre.at(line.bar)
        begin, end = (float(self._lines.time[bar - self._lines.first]) for bar in (line.begin, line.end))
        found = next(one for one in searched.lines if one.bar == line.bar)
        expected, at = (
            time if begin < time < end else 0.5 * (begin + end) for time in (found.expected, found.time)
        )
        stretch = Stretch(line.bar, line.begin, line.end, expected, at, searched.spread)
        if line.bar not in self._ways:
            self._ways[line.bar] = searched.through(line.bar, len(self._onsets))
        here = places(self._onsets.time, self._lines, stretch)
        described = features(
            self._onsets,
            self._sums,
            self._taught[signature],
            self._heard[signature].evidence[:, BAR],
            self._lines,
            stretch,
            here,
            self._ways[line.bar],
        )
        return here, described


def _opens(mark: Mark, metre: Metre) -> bool:
    """Whether it lies on a bar line."""
    return place_of(metre, mark.position)[1] == 0


def _in_turn(begin: int, end: int) -> list[Line]:
    """The lines between two bars, the middle one first."""
    if end - begin < 2:
        return []
    middle = (begin + end) // 2
    return [Line(middle, begin, end), *_in_turn(begin, middle), *_in_turn(middle, end)]
