"""Bar lines from taps: the musician taps along while the take plays, and each tap goes where it was meant.

Taps come early or late by a habit that is the same through a pass, and scatter about it; some are missed, some
doubled. What each means is counted, the habit is found from the onsets, and each line goes to the onset that
evidence and taps together speak for. Where nothing was heard the taps alone say where it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.checks import Floats, ascending
from core.chooser import Chooser
from core.errors import InputError
from core.evidence import Evidence
from core.grid import Pin
from core.metre import Metre
from core.network import Network
from core.onsets import Onsets
from core.pins import FASTEST, position_of
from core.tap_bias import Habit, habit_of
from core.tap_count import Counted, count
from core.tap_evidence import TapEvidence
from core.tap_fill import fill
from core.tap_passes import together
from core.tap_places import Every, Place, Places
from core.tapped import Tapped, TappedLine
from core.way import Mark
from core.weights import middle_chooser
from core.weights import networks as trained

NEAREST = 0.03
"""Two lines are at least so many seconds apart."""

ROUNDS = 2
"""How often the taps are counted again by what the count before says of the tempo and the onsets."""

BEYOND = 10.0
"""Placed lines up to so many seconds after the last tap can be among those counted to."""


@dataclass(frozen=True, slots=True, eq=False)
class Pass:
    """One pass of taps over a range of the take.

    Parameters
    ----------
    times : (n,) float
        The moments tapped, seconds of take time, ascending.
    every : "beat" or int
        What was tapped: every beat, or a bar line every so many bars.
    bar, beat : int
        What the first tap was meant for.
    speed : float
        How fast the take was played meanwhile.

    Raises
    ------
    InputError
        If there is no tap, a time is repeated or out of order, or `every` is less than one bar.
    """

    times: Floats
    every: Every = 1
    bar: int = 1
    beat: int = 1
    speed: float = 1.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "times", ascending(self.times, "The taps"))
        if not len(self.times):
            raise InputError("There are no taps: tap along while the take plays.")
        if self.every != "beat" and self.every < 1:
            raise InputError(f"Taps every {self.every} bars cannot be: tap every beat, or every 1, 2, ... bars.")
        if self.every != "beat" and self.beat != 1:
            raise InputError(f"Bars were tapped, so the first tap is beat 1, not beat {self.beat}.")


def read_taps(
    passes: Sequence[Pass],
    onsets: Onsets,
    metre: Metre,
    *,
    pins: Sequence[Pin] = (),
    habit: Habit | None = None,
    networks: Sequence[Network] | None = None,
    chooser: Chooser | None = None,
) -> Tapped:
    """Read bar lines, and beats where they were tapped, from one or more passes.

    Parameters
    ----------
    passes : sequence of Pass
        At least one.
    onsets : Onsets
        What was heard in the take.
    metre : Metre
        Time signatures, changes respected.
    pins : sequence of Pin
        Lines placed before, in order of time. They stay, and the taps are fitted around them.
    habit : Habit, optional
        How the musician was found to tap; without it, how people do.
    networks : sequence of Network, optional
    chooser : Chooser, optional
        Of the lines between those tapped; both instead of those that come with the library.

    Raises
    ------
    InputError
        If there is no pass.
    PinError
        If a placed line cannot be counted to from the first tap.
    """
    if not passes:
        raise InputError("There are no taps: tap along while the take plays.")
    heard = Evidence(onsets, networks if networks is not None else trained(onsets.source))
    pins = sorted(pins, key=lambda pin: pin.time)
    work = _Work(
        passes, [_places(one, metre, pins) for one in passes], onsets, heard, metre, pins, habit or Habit()
    )
    found = work.heard([count(one.times, where, pins) for one, where in zip(passes, work.places, strict=True)])
    for _ in range(ROUNDS):
        found = work.again(found, found.evidence)
    if any(where.beats for where in work.places):
        # Which beat is the first of its bar can be learned once the count has settled.
        for _ in range(ROUNDS):
            found = work.again(found, work.taught(found))
    known = work.known(found)
    between = [
        TappedLine(line.bar, 1, line.time, line.confidence, False)
        for line in fill(
            [_mark(line, metre) for line in known],
            metre,
            onsets,
            found.evidence.heard,
            work.taught(found).heard,
            chooser or middle_chooser(onsets.source),
        )
    ]
    new = [line for line in known if line.tapped]
    habits = tuple(habit.at(1 / one.speed) for habit, one in zip(found.habits, passes, strict=True))
    return Tapped(tuple(sorted([*new, *between])), habits)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """The passes as counted, how they were tapped, and what was heard under their tempo."""

    counts: list[list[Counted]]
    habits: list[Habit]
    evidence: TapEvidence


@dataclass(frozen=True, slots=True, eq=False)
class _Work:
    """All that the passes are read by."""

    passes: Sequence[Pass]
    places: Sequence[Places]
    onsets: Onsets
    evidence: Evidence
    metre: Metre
    pins: Sequence[Pin]
    expected: Habit

    def heard(self, counts: list[list[Counted]]) -> _Found:
        """Passes that are counted."""
        evidence = TapEvidence.of(self.evidence, self.onsets, self.places, counts)
        habits = [
            _habit(counted, where, evidence, self.expected.at(one.speed))
            for counted, where, one in zip(counts, self.places, self.passes, strict=True)
        ]
        return _Found(counts, habits, evidence)

    def again(self, found: _Found, by: TapEvidence) -> _Found:
        """Count them again by what is heard."""
        counts = [
            count(one.times, where, self.pins, by.hearing(one.times, where, counted, habit.bias, habit.spread))
            for one, where, counted, habit in zip(
                self.passes, self.places, found.counts, found.habits, strict=True
            )
        ]
        return found if counts == found.counts else self.heard(counts)

    def known(self, found: _Found) -> list[TappedLine]:
        """Placed lines among the taps, and those tapped."""
        placed = [
            TappedLine(where.all[item.place].bar, where.all[item.place].beat, item.time, 1.0, False)
            for counted, where in zip(found.counts, self.places, strict=True)
            for item in counted
            if item.tap is None
        ]
        tapped = _lines(found.counts, self.places, found.habits, found.evidence)
        return _in_order(tapped, placed, self.metre)

    def taught(self, found: _Found) -> TapEvidence:
        """The evidence after the bar lines of this take have been seen."""
        lines = [_mark(line, self.metre) for line in self.known(found) if line.beat == 1]
        return found.evidence.taught(lines, self.metre)


def _places(one: Pass, metre: Metre, pins: Sequence[Pin]) -> Places:
    bars = len(one.times) * (1 if one.every == "beat" else one.every)
    # Of every three places two can have been missed, and placed lines may lie further on still.
    numbered = [pin.bar - one.bar for pin in pins if pin.bar is not None and pin.time <= one.times[-1] + BEYOND]
    return Places.of(metre, one.bar, one.beat, one.every, max([2 * bars + 8, *numbered]))


def _habit(counted: Sequence[Counted], where: Places, evidence: TapEvidence, expected: Habit) -> Habit:
    taps = [item for item in counted if item.tap is not None]
    times = np.array([item.time for item in taps])
    return habit_of(times, evidence.targets(times, [where.all[item.place] for item in taps]), expected)


def _lines(
    counts: Sequence[Sequence[Counted]], places: Sequence[Places], habits: Sequence[Habit], evidence: TapEvidence
) -> list[TappedLine]:
    """One line for each place that was tapped, in whatever pass."""
    rows: dict[Place, Floats] = {}
    for i, (counted, where) in enumerate(zip(counts, places, strict=True)):
        for item in counted:
            if item.tap is not None:
                row = rows.setdefault(where.all[item.place], np.full(len(counts), np.nan))
                row[i] = item.time - habits[i].bias
    if not rows:
        return []
    taps = np.array(list(rows.values()))
    targets = evidence.targets(np.nanmean(taps, axis=1), list(rows))
    found = together(taps, np.array([habit.spread for habit in habits]), targets)
    return [
        TappedLine(place.bar, place.beat, float(time), float(confidence), True)
        for place, time, confidence in zip(rows, found.time, found.confidence, strict=True)
    ]


def _in_order(tapped: Sequence[TappedLine], placed: Sequence[TappedLine], metre: Metre) -> list[TappedLine]:
    """Placed lines and those tapped, without the tapped ones that leave no time for what lies between."""
    fixed = {(line.bar, line.beat) for line in placed}
    known = sorted({*placed, *(line for line in tapped if (line.bar, line.beat) not in fixed)})
    kept: list[TappedLine] = []
    for line in known:
        while kept and _crowded(kept[-1], line, metre) and _gives_way(kept[-1], line):
            kept.pop()
        if not line.tapped or not kept or not _crowded(kept[-1], line, metre):
            kept.append(line)
    return kept


def _gives_way(line: TappedLine, to: TappedLine) -> bool:
    return line.tapped and (not to.tapped or line.confidence < to.confidence)


def _crowded(before: TappedLine, line: TappedLine, metre: Metre) -> bool:
    a, b = _mark(before, metre), _mark(line, metre)
    return b.time - a.time < max(NEAREST, 2 * FASTEST * float(b.position - a.position))


def _mark(line: TappedLine, metre: Metre) -> Mark:
    return Mark(position_of(line.pin, metre), line.time)
