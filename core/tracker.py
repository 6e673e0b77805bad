"""Suggests the bars of a take from its onsets, its metre and the lines the musician placed.

Placed lines are obeyed to the last digit. Between two of them the count is kept and both ends are fixed;
after the last and before the first the bars are read off the tables of the search.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import takewhile
from statistics import median

import numpy as np

from core.between import Count, between
from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence
from core.grid import Beat, Grid, Pin
from core.metre import Metre, TimeSignature
from core.network import Network
from core.onsets import Onsets
from core.opening import first_bar_line, openings
from core.pins import checked, position_of
from core.pulse import pulse_of
from core.ranking import Judged, Line, judge
from core.search import Steps, Table
from core.way import Mark, place_of, times_at
from core.weights import networks as trained

LEVEL = 0.15
"""Tables are made for tempi this far apart, in natural logarithm."""

STICK = 0.12
"""The table in use is kept while the tempo of the last bars stays this near to its own."""

RECENT = 8
"""Bars whose median length is the tempo the search is pulled to."""

RESET = 0.5
"""How far the tempo follows the bar that a placed line has ended."""

NEAR = 0.6
"""Suggested bars stay when the one bar that remains to a placed line has a tempo this near theirs, in
logarithm; over more bars it must be nearer."""

LONG = 1.8
"""The one bar that remains may be longer than it should by this much: the player hesitated."""

SUDDEN = 0.3
"""A bar this much longer or shorter than those before it was a hesitation or a slip, after which the tempo is
as before; a second one like it is a new tempo."""

LONGEST = 16
"""Bars up to which a whole stretch is thought over when nothing less will do."""

BACK = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64)
"""How many bars before a placed line are thought over when it is placed, the fewest that will do."""


class Tracker:
    """Suggestions for one take in one metre, answered again and again as lines are placed.

    Whatever does not depend on the placed lines is kept, so that an answer to one more of them takes
    milliseconds. The answer depends on the lines alone, not on what was asked before.

    Parameters
    ----------
    onsets : Onsets
        What was heard, at least two onsets.
    metre : Metre
        Time signatures by bar number.
    networks : sequence of Network, optional
        Instead of those that come with the library.
    costs : Costs, optional
        Weights of the search.
    """

    def __init__(
        self,
        onsets: Onsets,
        metre: Metre,
        *,
        networks: Sequence[Network] | None = None,
        costs: Costs | None = None,
    ) -> None:
        self.onsets, self.metre = onsets, metre
        self._costs = costs or Costs()
        self._evidence = Evidence(onsets, networks if networks is not None else trained(onsets.source))
        self._heard: dict[tuple[TimeSignature, int], Floats] = {}
        self._tables: dict[tuple[TimeSignature, int, int], Table] = {}
        self._stretches: dict[tuple[Mark, ...], tuple[Mark, ...]] = {}
        self._judged: dict[tuple[TimeSignature, int, Line], Judged] = {}
        self._tempo_heard: float | None = None

    def grid(self, pins: Sequence[Pin] = (), *, opening: float | None = None) -> Grid:
        """Suggest all bars of the take, obeying the placed lines.

        Parameters
        ----------
        pins : sequence of Pin
            In order of time; the first may be without a number and is then bar 1. A later one without a
            number gets the count that fits best. Without any, the first bar line is suggested too.
        opening : float, optional
            Log seconds of a quarter to start from while fewer than two lines are placed; heard in the take
            where it is not given.

        Raises
        ------
        PinError
            If the pins are out of order, outside the take or contradict each other or the metre.
        """
        pins = checked(pins, self.metre, self.onsets.duration)
        if opening is None and (len(pins) < 2 or pins[1].bar is None):
            opening = self._heard_tempo()
        marks = [self._mark(pins[0])] if pins else [self._first_bar_line(opening or 0.0)]
        law = tuple(marks) if pins else ()
        for pin in pins[1:]:
            goal = self._mark(pin) if pin.bar is not None else self._counted(marks, pin, opening, pins)
            law = (*law, goal)
            marks = self._to(marks, law)
        start = opening if len(pins) < 2 else None
        marks = [*marks, *self._onward(marks, start)]
        marks = [*reversed(list(self._onward(marks, start, way=-1))), *marks]
        if len(marks) < 2:
            marks.append(Mark(marks[0].position + 4, marks[0].time + 2.0))
        return self._laid_out(marks, {mark.position for mark in law})

    # Where to begin, and which bar a placed line without a number is

    def _mark(self, pin: Pin) -> Mark:
        return Mark(position_of(pin, self.metre), pin.time)

    def _heard_tempo(self) -> float:
        if self._tempo_heard is None:
            ways = openings(self.onsets, self._evidence, [self.metre.at(1)], self._costs)
            self._tempo_heard = ways[0].quarter
        return self._tempo_heard

    def _first_bar_line(self, quarter: float) -> Mark:
        time, _ = first_bar_line(self._table(self.metre.at(1), round(quarter / LEVEL), 1))
        return Mark(Fraction(0), time)

    def _counted(self, marks: list[Mark], pin: Pin, opening: float | None, pins: Sequence[Pin]) -> Mark:
        """A placed bar line with the number that fits best between its neighbours."""
        bar, _ = place_of(self.metre, marks[-1].position)
        ahead = self._onward(marks, opening if len(marks) < 2 else None)
        lines = list(takewhile(lambda mark: mark.time < pin.time, ahead))
        tail = [*marks, *lines][-2:]
        reached = tail[-1].position
        if len(tail) > 1:
            pace = (tail[1].time - tail[0].time) / float(tail[1].position - tail[0].position)
            reached += Fraction((pin.time - tail[1].time) / pace).limit_denominator(64)
        near, _ = place_of(self.metre, reached)
        numbers = [n for n in (near - 1, near, near + 1, near + 2) if n > bar]
        later = next((p.bar for p in pins if p.bar is not None and p.time > pin.time), None)
        numbers = [n for n in numbers if later is None or n < later] or [bar + 1]
        goals = [Mark(self.metre.quarter_of(number), pin.time) for number in numbers]
        return max(goals, key=lambda goal: self._fits(marks, goal))

    def _fits(self, marks: list[Mark], goal: Mark) -> float:
        """Score of the count up to a placed line; without one, how far its tempo departs from the bars before."""
        begin = marks[-1]
        pace = float(np.log((goal.time - begin.time) / float(goal.position - begin.position)))
        tempo = self._tempo(self._lengths(marks)) if len(marks) > 1 else pace
        _, count = self._count(begin, goal)
        score, _ = between(self.onsets.time, count, begin.time, goal.time, tempo, self._costs)
        return score if np.isfinite(score) else -1e6 - abs(pace - tempo)

    # How a stretch between two placed lines is filled

    def _to(self, marks: list[Mark], law: tuple[Mark, ...]) -> list[Mark]:
        """Go on to the last of the placed lines so far, which alone decide how, with the count between kept."""
        if law not in self._stretches:
            self._stretches[law] = tuple(self._stretch(marks, law[-1]))
        return [*marks, *self._stretches[law]]

    def _stretch(self, marks: list[Mark], goal: Mark) -> list[Mark]:
        kept = self._kept(marks, goal)
        begin = kept[-1] if kept else marks[-1]
        behind = [*marks, *kept, goal] if len(marks) + len(kept) < 2 else [*marks, *kept]
        tempo = self._tempo(self._lengths(behind))
        positions, count = self._count(begin, goal)
        _, way = between(self.onsets.time, count, begin.time, goal.time, tempo, self._costs)
        return [*kept, *(Mark(positions[unit], time) for unit, time in way[1:-1]), goal]

    def _kept(self, marks: list[Mark], goal: Mark) -> list[Mark]:
        """What stays of the bars that were suggested before the line was placed.

        A musician corrects from left to right: what was suggested before the line was found right, as far as
        the tempo of what remains up to the line bears it out.
        """
        bar, offset = place_of(self.metre, goal.position)
        before = list(self._ahead(marks, goal))
        lengths = self._lengths([*marks, *before]) if before else []
        first, cut = place_of(self.metre, marks[0].position)
        best: tuple[float, list[Mark]] = (np.inf, [])
        for back in BACK:
            last = self.metre.quarter_of(bar + bool(offset) - back)
            if last <= marks[-1].position:
                # All of it is thought over, unless that is long and something else will nearly do.
                return best[1] if back > LONGEST else []
            kept = [mark for mark in before if mark.position <= last]
            while kept and place_of(self.metre, kept[-1].position)[1]:
                kept.pop()
            if not kept:
                continue
            left = np.log((goal.time - kept[-1].time) / float(goal.position - kept[-1].position))
            whole = place_of(self.metre, kept[-1].position)[0] - first - bool(cut)
            off = float(left - self._tempo(lengths[: max(whole, 1)]))
            if back == 1 and 0 < off < LONG and kept[-1].position == last:
                return kept
            strain = abs(off) * back**0.5 / NEAR
            if strain < 1:
                return kept
            best = min(best, (strain, kept), key=lambda pair: pair[0])
        return best[1]

    def _ahead(self, marks: list[Mark], goal: Mark) -> Iterator[Mark]:
        """What had been suggested between the last placed line and the place of the next."""
        pace = None
        if len(marks) < 2:
            pace = float(np.log((goal.time - marks[0].time) / float(goal.position - marks[0].position)))
        for mark in self._onward(marks, pace):
            if mark.position >= goal.position or mark.time >= goal.time - 0.02:
                return
            yield mark

    def _count(self, begin: Mark, end: Mark) -> tuple[list[Fraction], Count]:
        """The units from one mark to another, both among them."""
        positions: list[Fraction] = []
        levels: list[int] = []
        gains: list[Floats] = []
        bar, _ = place_of(self.metre, begin.position)
        mean = np.log((end.time - begin.time) / float(end.position - begin.position))
        level = round(mean / LEVEL)
        while (at := self.metre.quarter_of(bar)) <= end.position:
            signature = self.metre.at(bar)
            pulse = pulse_of(signature, float(np.exp(level * LEVEL)))
            gain = self._costs.gain(self._hearing(signature, level))
            for unit, kind in enumerate(pulse.levels):
                position = at + unit * pulse.unit_quarters
                if begin.position <= position <= end.position:
                    positions.append(position)
                    levels.append(kind)
                    gains.append(gain)
            bar += 1
        quarters = np.array([float(position - begin.position) for position in positions])
        return positions, Count(quarters, np.array(levels), gains)

    # How the bars go on after the last placed line, and back before the first

    def _onward(self, marks: Sequence[Mark], opening: float | None, way: int = 1) -> Iterator[Mark]:
        """Read marks off the tables, from the last mark on or, with `way` -1, from the first one back.

        The table is changed where the metre changes and where the tempo of the last bars has left its own.
        """
        begin = marks[-1] if way > 0 else marks[0]
        position, time = begin.position, begin.time
        lengths = [opening] if opening is not None else self._lengths(marks, way)
        tempo = self._tempo(lengths)
        level = _levels(lengths)[-1]
        while True:
            bar, offset = self._place(position, way)
            signature = self.metre.at(bar)
            table = self._table(signature, level, way)
            pulse = table.steps.pulse
            step_quarters = way * pulse.unit_quarters
            unit = round(offset / abs(step_quarters)) % pulse.units
            line = (position, time) if unit == 0 else None
            for step in table.read(way * time, unit, tempo):
                position += step.units * step_quarters
                time = way * float(table.steps.time[step.node])
                tempo = step.quarter
                yield Mark(position, time)
                if self.metre.at(self._place(position, way)[0]) != signature:
                    break
                if step.unit == 0:
                    if line is not None:
                        lengths.append(float(np.log((time - line[1]) / float(position - line[0]))))
                    line = (position, time)
                    if (next_level := _next_level(level, lengths)) != level:
                        level = next_level
                        break
            else:
                return

    def _place(self, position: Fraction, way: int) -> tuple[int, Fraction]:
        """Bar and offset in the direction read: going back, the offset is from the end of the bar."""
        bar, offset = place_of(self.metre, position)
        if way > 0:
            return bar, offset
        return (bar, self.metre.at(bar).quarters - offset) if offset else (bar - 1, Fraction(0))

    def _lengths(self, marks: Sequence[Mark], way: int = 1) -> list[float]:
        """Log seconds of a quarter in each whole bar of the marks, in the order read."""
        first, offset = place_of(self.metre, marks[0].position)
        last, _ = place_of(self.metre, marks[-1].position)
        positions = [self.metre.quarter_of(bar) for bar in range(first + bool(offset), last + 1)]
        if len(positions) < 2:
            span = float(marks[-1].position - marks[0].position)
            return [float(np.log((marks[-1].time - marks[0].time) / span))]
        quarters = np.array([float(position) for position in positions])
        lengths = np.log(np.diff(times_at(marks, positions)) / np.diff(quarters))
        return [float(length) for length in lengths[::way]]

    def _tempo(self, lengths: list[float]) -> float:
        """Log seconds of a quarter to go on with: that of the bars before, part of the way to the last one."""
        last = lengths[-1]
        before = median(lengths[-5:-1]) if len(lengths) > 1 else last
        change = last - before
        if abs(change) <= SUDDEN:
            return before + RESET * change
        return last if abs(last - lengths[-2]) < 0.5 * SUDDEN else before

    def _hearing(self, signature: TimeSignature, level: int) -> Floats:
        key = (signature, level)
        if key not in self._heard:
            self._heard[key] = self._evidence.supposing(signature, float(np.exp(level * LEVEL)))
        return self._heard[key]

    def _table(self, signature: TimeSignature, level: int, way: int) -> Table:
        key = (signature, level, way)
        if key not in self._tables:
            centre = level * LEVEL
            pulse = pulse_of(signature, float(np.exp(centre)))
            heard = self._hearing(signature, level)
            time = self.onsets.time
            if way < 0:
                pulse, heard, time = pulse.mirrored(), heard[::-1], -time[::-1]
            self._tables[key] = Table(Steps(time, pulse, centre, self._costs), heard)
        return self._tables[key]

    # From marks to a grid

    def _laid_out(self, marks: list[Mark], placed: set[Fraction]) -> Grid:
        metre = self.metre
        times = {mark.position: mark.time for mark in marks}
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
        where = [w for w in where if w[2] <= end and (not metre.pickup or w[2] >= -metre.pickup)]
        at = times_at(marks, [w[2] for w in where])
        begun = [i for i, (_, _, position) in enumerate(where) if position <= marks[0].position]
        skip = max(begun, default=0)
        while at[skip] < 0:
            skip += 1
        where, at = where[skip:], at[skip:]
        judged = self._judge(marks, placed, [position for _, beat, position in where if beat == 1])
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

    def _judge(self, marks: list[Mark], placed: set[Fraction], lines: list[Fraction]) -> dict[Fraction, Judged]:
        """How sure each suggested bar line is, and its alternatives."""
        if len(lines) < 2:
            return {}
        times = times_at(marks, lines)
        quarters = np.array([float(position) for position in lines])
        lengths = [float(length) for length in np.log(np.diff(times) / np.diff(quarters))]
        levels = _levels(lengths)
        out: dict[Fraction, Judged] = {}
        for i, position in enumerate(lines):
            if position in placed:
                continue
            # The first line has no bar before it: it is judged by the one after.
            before = max(i - 1, 0)
            tempo = median(lengths[max(0, before - 3) : max(before, 1)])
            signature = self.metre.at(place_of(self.metre, lines[before])[0])
            bar = float(signature.quarters) * np.exp(tempo)
            begin = float(times[i - 1]) if i else float(times[0] - bar)
            line = Line(begin, float(times[i]), tempo)
            key = (signature, levels[before], line)
            if key not in self._judged:
                self._judged[key] = judge(self._table(signature, levels[before], 1), line)
            out[position] = self._judged[key]
        return out


def _next_level(level: int, lengths: list[float]) -> int:
    """Level for the tempo of the last bars: the one in use while it will do."""
    recent = median(lengths[-RECENT:])
    return level if abs(recent - level * LEVEL) <= STICK else round(recent / LEVEL)


def _levels(lengths: list[float]) -> list[int]:
    """Level in use after each bar."""
    level = round(lengths[0] / LEVEL)
    out = []
    for i in range(len(lengths)):
        level = _next_level(level, lengths[max(0, i + 1 - RECENT) : i + 1])
        out.append(level)
    return out
