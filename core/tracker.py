"""Suggests the bars of a take from its onsets, its metre and the lines the musician placed.

Placed lines are obeyed to the last digit. Between two of them the count is kept and both ends are fixed;
after the last and before the first the bars are read off the tables of the search.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np

from core.between import Count, between
from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence
from core.grid import Beat, Grid, Pin
from core.metre import Metre, TimeSignature
from core.network import Network
from core.onsets import Onsets
from core.pins import checked, position_of
from core.pulse import pulse_of
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

NEAR = 0.25
"""Suggested bars stay when what remains to a placed line has a tempo this near theirs, in logarithm."""

BACK = 8
"""Bars before a placed line that are thought over when it is placed; those before them stay."""


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

    def grid(self, pins: Sequence[Pin] = ()) -> Grid:
        """Suggest all bars of the take, obeying the placed lines.

        Parameters
        ----------
        pins : sequence of Pin
            In order of time; the first may be without a number and is then bar 1. A later one without a
            number gets the count that fits best.

        Raises
        ------
        PinError
            If the pins are out of order, outside the take or contradict each other or the metre.
        """
        pins = checked(pins, self.metre, self.onsets.duration)
        placed = [Mark(position_of(pin, self.metre), pin.time) for pin in pins]
        marks = placed[:1]
        quarter = None
        for mark in placed[1:]:
            marks = self._to(marks, mark)
        marks = [*marks, *self._onward(marks, quarter)]
        marks = [*reversed(list(self._onward(marks, quarter, way=-1))), *marks]
        return self._laid_out(marks, frozenset(placed))

    # How a stretch between two placed lines is filled

    def _to(self, marks: list[Mark], goal: Mark) -> list[Mark]:
        """Go on to the next placed line with the count between kept."""
        key = (*marks[-64:], goal)
        if key not in self._stretches:
            self._stretches[key] = tuple(self._stretch(marks, goal))
        return [*marks, *self._stretches[key]]

    def _stretch(self, marks: list[Mark], goal: Mark) -> list[Mark]:
        kept = self._kept(marks, goal)
        begin = kept[-1] if kept else marks[-1]
        behind = [*marks, *kept, goal] if len(marks) + len(kept) < 2 else [*marks, *kept]
        tempo = self._tempo(behind, [])
        positions, count = self._count(begin, goal, tempo)
        _, way = between(self.onsets.time, count, begin.time, goal.time, tempo, self._costs)
        return [*kept, *(Mark(positions[unit], time) for unit, time in way[1:-1]), goal]

    def _kept(self, marks: list[Mark], goal: Mark) -> list[Mark]:
        """What stays of the bars that were suggested before the line was placed: all but the last few.

        They stay only where the tempo that would remain for the last few is near their own.
        """
        bar, _ = place_of(self.metre, goal.position)
        start, _ = place_of(self.metre, marks[-1].position)
        if len(marks) < 2 or bar - start <= BACK + 2:
            return []
        last = self.metre.quarter_of(bar - BACK)
        kept: list[Mark] = []
        for mark in self._onward(marks, None):
            if mark.position > last or mark.time >= goal.time:
                break
            kept.append(mark)
        while kept and place_of(self.metre, kept[-1].position)[1]:
            kept.pop()
        if not kept:
            return []
        left = np.log((goal.time - kept[-1].time) / float(goal.position - kept[-1].position))
        return kept if abs(left - self._tempo([*marks, *kept], [])) < NEAR else []

    def _count(self, begin: Mark, end: Mark, tempo: float) -> tuple[list[Fraction], Count]:
        """The units from one mark to another, both among them."""
        positions: list[Fraction] = []
        levels: list[int] = []
        gains: list[Floats] = []
        bar, _ = place_of(self.metre, begin.position)
        mean = np.log((end.time - begin.time) / float(end.position - begin.position))
        level = self._level(mean)
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
        lines = self._last_bars(marks, way)
        tempo = opening if opening is not None else self._tempo(marks, lines, way)
        while True:
            bar, offset = self._place(position, way)
            signature = self.metre.at(bar)
            level = self._level(float(np.median(lines[-RECENT:])) if lines else tempo)
            table = self._table(signature, level, way)
            pulse = table.steps.pulse
            unit = round(offset / pulse.unit_quarters) % pulse.units
            line = (position, time) if unit == 0 else None
            for step in table.read(way * time, unit, tempo):
                position += way * step.units * pulse.unit_quarters
                time = way * float(table.steps.time[step.node])
                tempo = step.quarter
                yield Mark(position, time)
                if self.metre.at(self._place(position, way)[0]) != signature:
                    break
                if step.unit == 0:
                    if line is not None:
                        lines.append(float(np.log((time - line[1]) / float(position - line[0]))))
                    line = (position, time)
                    if abs(float(np.median(lines[-RECENT:])) - level * LEVEL) > STICK and lines:
                        break
            else:
                return

    def _place(self, position: Fraction, way: int) -> tuple[int, Fraction]:
        """Bar and offset in the direction read: going back, the offset is from the end of the bar."""
        bar, offset = place_of(self.metre, position)
        if way > 0:
            return bar, offset
        return (bar, self.metre.at(bar).quarters - offset) if offset else (bar - 1, Fraction(0))

    def _last_bars(self, marks: Sequence[Mark], way: int) -> list[float]:
        """Log seconds of a quarter in each of the bars next to where reading begins, the nearest last."""
        if len(marks) < 2:
            return []
        begin, far = (marks[-1], marks[0]) if way > 0 else (marks[0], marks[-1])
        bar, offset = place_of(self.metre, begin.position)
        bars = [bar - way * i for i in range(RECENT + 1)]
        positions = [self.metre.quarter_of(b) for b in bars]
        if way > 0:
            positions = [p for p in positions if p >= far.position]
        else:
            positions = [p for p in positions if begin.position <= p <= far.position]
        if len(positions) < 2:
            span = float(far.position - begin.position)
            return [float(np.log((far.time - begin.time) / span))]
        times = times_at(marks, positions)
        quarters = np.array([float(p) for p in positions])
        return [float(x) for x in np.log(np.diff(times) / np.diff(quarters))[::-1]]

    def _tempo(self, marks: Sequence[Mark], lines: list[float], way: int = 1) -> float:
        """Log seconds of a quarter to go on with: that of the bars before, part of the way to the last one."""
        lines = lines or self._last_bars(marks, way)
        last = lines[-1]
        before = float(np.median(lines[-5:-1])) if len(lines) > 1 else last
        return before + RESET * float(np.clip(last - before, -0.6, 0.6))

    def _level(self, quarter: float) -> int:
        return round(quarter / LEVEL)

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

    def _laid_out(self, marks: list[Mark], placed: frozenset[Mark]) -> Grid:
        metre = self.metre
        times = {mark.position: mark.time for mark in marks}
        first, _ = place_of(metre, marks[0].position)
        last, offset = place_of(metre, marks[-1].position)
        last += bool(offset)
        where = [
            (bar, beat, metre.quarter_of(bar) + quarters)
            for bar in range(first, last + 1)
            for beat, quarters in enumerate(metre.at(bar).beat_quarters, 1)
        ]
        end = metre.quarter_of(last)
        where = [w for w in where if w[2] <= end and (not metre.pickup or w[2] >= -metre.pickup)]
        at = times_at(marks, [w[2] for w in where])
        begun = [i for i, (_, _, position) in enumerate(where) if position <= marks[0].position]
        skip = max(begun, default=0)
        while at[skip] < 0:
            skip += 1
        where, at = where[skip:], at[skip:]
        pinned = {mark.position for mark in placed}
        beats = [
            Beat(times.get(position, float(time)), bar, beat, placed=position in pinned)
            for (bar, beat, position), time in zip(where, at, strict=True)
        ]
        return Grid(metre, tuple(beats))
