"""Suggests the bars of a take from its onsets, its metre and the lines the musician placed.

Placed lines are obeyed to the last digit. Between two of them the count is kept and both ends are fixed;
after the last the bars are chosen by what the bars before them say, and then read off the tables of the search.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import takewhile

from core.chooser import Chooser
from core.costs import Costs
from core.grid import Grid, Pin
from core.lay_out import PLACED, laid_out
from core.metre import Metre
from core.network import Network
from core.onsets import Onsets
from core.onward import Ahead, onward, read_off
from core.opening import first_bar_line
from core.pace import level_of, tempo_between
from core.pins import checked, position_of
from core.stretch import fill, fits
from core.tables import Tables
from core.way import Mark, Part, Parts, first_bars, place_of

MOST_STRETCHES = 10_000
"""Stretches between placed lines that are kept."""

REMEMBERED = 24
"""Bars before a stretch that it hangs on; what a line changes does not reach further than these and its own."""


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
    tables : Tables, optional
        Those of a tracker of the same onsets in another metre, which spares making them anew.
    networks, chooser, costs : optional
        As for `Tables`, where none are given.
    """

    def __init__(
        self,
        onsets: Onsets,
        metre: Metre,
        *,
        tables: Tables | None = None,
        networks: Sequence[Network] | None = None,
        chooser: Chooser | None = None,
        costs: Costs | None = None,
    ) -> None:
        if tables is not None and tables.onsets is not onsets:
            raise ValueError("The tables are those of other onsets.")
        self.onsets, self.metre = onsets, metre
        self.tables = tables or Tables(onsets, networks=networks, chooser=chooser, costs=costs)
        # The next line is mostly placed in what was suggested a moment ago.
        self._ahead = lru_cache(maxsize=16)(self._onward)
        self._begun = lru_cache(maxsize=256)(_alone)
        self._filled = lru_cache(maxsize=MOST_STRETCHES)(self._stretch)
        self._known: dict[tuple[int | Mark, ...], tuple[Sequence[Part], Part]] = {}

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
            opening = self.tables.openings((self.metre.at(1),))[0].quarter
        first = self._mark(pins[0]) if pins else self._first_bar_line(opening or 0.0)
        parts, law = Parts(self.metre, self._begun(first)), [first][: len(pins)]
        for pin in pins[1:]:
            goal = self._mark(pin) if pin.bar is not None else self._counted(parts, pin, opening, pins)
            law.append(goal)
            parts.add(self._to(parts, goal))
        marks = parts.marks()
        start = opening if len(pins) < 2 else None
        ahead = self._ahead(parts.last(REMEMBERED), start)
        marks += [landing.mark for landing in ahead]
        earliest = first_bars(self.metre, marks, REMEMBERED)
        marks = [*reversed(list(read_off(self.tables, self.metre, earliest, start, way=-1))), *marks]
        if len(marks) < 2:
            marks.append(Mark(marks[0].position + 4, marks[0].time + 2.0))
        verdicts = {landing.mark.position: landing.judged for landing in ahead if landing.judged is not None}
        placed = dict.fromkeys((mark.position for mark in law), PLACED)
        return laid_out(self.tables, self.metre, marks, verdicts | placed)

    def _mark(self, pin: Pin) -> Mark:
        return Mark(position_of(pin, self.metre), pin.time)

    def _first_bar_line(self, quarter: float) -> Mark:
        time, _ = first_bar_line(self.tables.table(self.metre.at(1), level_of(quarter), 1))
        return Mark(Fraction(0), time)

    def _counted(self, parts: Parts, pin: Pin, opening: float | None, pins: Sequence[Pin]) -> Mark:
        """A placed bar line with the number that fits best between its neighbours."""
        last = parts.last(REMEMBERED)
        bar, _ = place_of(self.metre, last[-1].position)
        ahead = self._ahead(last, opening if len(last) < 2 else None)
        lines = list(takewhile(lambda mark: mark.time < pin.time, (landing.mark for landing in ahead)))
        tail = [*last, *lines][-2:]
        reached = tail[-1].position
        if len(tail) > 1:
            pace = (tail[1].time - tail[0].time) / float(tail[1].position - tail[0].position)
            reached += Fraction((pin.time - tail[1].time) / pace).limit_denominator(64)
        near, _ = place_of(self.metre, reached)
        numbers = [n for n in (near - 1, near, near + 1, near + 2) if n > bar]
        later = next((p.bar for p in pins if p.bar is not None and p.time > pin.time), None)
        numbers = [n for n in numbers if later is None or n < later] or [bar + 1]
        goals = [Mark(self.metre.quarter_of(number), pin.time) for number in numbers]
        return max(goals, key=lambda goal: fits(self.tables, self.metre, last, goal))

    def _onward(self, last: tuple[Mark, ...], opening: float | None) -> Ahead:
        return Ahead(onward(self.tables, self.metre, last, opening))

    def _to(self, parts: Parts, goal: Mark) -> Part:
        """Marks on to a placed line, the count between kept."""
        # Parts that are one and the same are told by that, which takes no reading of their marks.
        behind = parts.behind(REMEMBERED)
        alike: tuple[int | Mark, ...] = (*(id(part) for part in behind), goal)
        if alike not in self._known:
            if len(self._known) >= MOST_STRETCHES:
                self._known.clear()
            self._known[alike] = (behind, self._filled(parts.last(REMEMBERED), goal))
        return self._known[alike][1]

    def _stretch(self, last: tuple[Mark, ...], goal: Mark) -> Part:
        pace = tempo_between(last[0], goal) if len(last) < 2 else None
        suggested = (landing.mark for landing in self._ahead(last, pace))
        return tuple(fill(self.tables, self.metre, last, goal, suggested))


def _alone(mark: Mark) -> Part:
    return (mark,)
