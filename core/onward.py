"""How the bars go on after the last mark, and back before the first.

Some bars after the last line known are chosen one by one, by all that the bars before them say. The rest, and
those before the first line, are read off the tables.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from core.metre import Metre
from core.next_line import LINES, Past
from core.pace import bar_lengths, bar_lines, levels_after, next_level, tempo_after, tempo_between
from core.ranking import Judged
from core.tables import Tables
from core.way import Mark, place_of, times_at

CHOSEN = 32
"""Bars that are chosen one by one; each costs about a millisecond."""

LENGTHS = 9
"""Lengths of the last bars that a choice hangs on."""


@dataclass(frozen=True, slots=True)
class Landing:
    """A mark that is suggested, and how sure it is where that is known."""

    mark: Mark
    judged: Judged | None = None


class Ahead:
    """Landings found as far as they are read, and kept for whoever reads them next."""

    def __init__(self, landings: Iterator[Landing]) -> None:
        self._coming = landings
        self._found: list[Landing] = []

    def __iter__(self) -> Iterator[Landing]:
        at = 0
        while True:
            if at == len(self._found):
                landing = next(self._coming, None)
                if landing is None:
                    return
                self._found.append(landing)
            yield self._found[at]
            at += 1


def onward(tables: Tables, metre: Metre, marks: Sequence[Mark], opening: float | None = None) -> Iterator[Landing]:
    """Suggest marks from the last one on, to the end of the take.

    Parameters
    ----------
    marks : sequence of Mark
        What is known, at least one.
    opening : float, optional
        Log seconds of a quarter to go on with, instead of what the marks say.
    """
    known = list(marks)
    if opening is None:
        for landing in _to_bar_line(tables, metre, marks):
            known.append(landing.mark)
            yield landing
        for landing in _chosen(tables, metre, known):
            known.append(landing.mark)
            yield landing
    for mark in read_off(tables, metre, known, opening):
        yield Landing(mark)


def _to_bar_line(tables: Tables, metre: Metre, marks: Sequence[Mark]) -> Iterator[Landing]:
    """From a mark inside a bar to the end of the bar."""
    bar, offset = place_of(metre, marks[-1].position)
    end, before = metre.quarter_of(bar + 1), marks[-1]
    if not offset:
        return
    for mark in read_off(tables, metre, marks):
        if mark.position >= end:
            yield Landing(Mark(end, float(times_at([before, mark], [end])[0])))
            return
        yield Landing(mark)
        before = mark


def _chosen(tables: Tables, metre: Metre, marks: Sequence[Mark]) -> Iterator[Landing]:
    """Bars after a bar line, chosen one by one."""
    positions = bar_lines(metre, marks)
    if len(positions) < 2 or positions[-1] != marks[-1].position:
        return
    lines = [float(time) for time in times_at(marks, positions[-LINES:])]
    lengths = bar_lengths(metre, marks)
    level = levels_after(lengths)[-1]
    bar, _ = place_of(metre, positions[-1])
    for number in range(bar, bar + CHOSEN):
        before, own, after = (metre.at(n) for n in (number - 1, number, number + 1))
        past = Past(tuple(lines[-LINES:]), tuple(lengths[-LENGTHS:]), level, before, own, after)
        found = tables.next_bar(past)
        if found is None:
            return
        begin = Mark(metre.quarter_of(number), lines[-1])
        for offset, time in found.inner:
            yield Landing(Mark(begin.position + offset, time))
        end = Mark(begin.position + own.quarters, found.end)
        yield Landing(end, found.judged)
        lines.append(end.time)
        lengths.append(tempo_between(begin, end))
        level = next_level(level, lengths)


def read_off(
    tables: Tables, metre: Metre, marks: Sequence[Mark], opening: float | None = None, way: int = 1
) -> Iterator[Mark]:
    """Read marks off the tables, from the last mark on or, with `way` -1, from the first one back.

    The table is changed where the metre changes and where the tempo of the last bars has left its own.
    """
    begin = marks[-1] if way > 0 else marks[0]
    position, time = begin.position, begin.time
    lengths = [opening] if opening is not None else bar_lengths(metre, marks)[::way]
    tempo = tempo_after(lengths)
    level = levels_after(lengths)[-1]
    while True:
        bar, offset = _place(metre, position, way)
        signature = metre.at(bar)
        table = tables.table(signature, level, way)
        pulse = table.steps.pulse
        step_quarters = way * pulse.unit_quarters
        unit = round(offset / abs(step_quarters)) % pulse.units
        line = Mark(position, time) if unit == 0 else None
        for step in table.read(way * time, unit, tempo):
            passed, unit = unit + step.units >= pulse.units, step.unit
            position += step.units * step_quarters
            time = way * float(table.steps.time[step.node])
            tempo = step.quarter
            here = Mark(position, time)
            yield here
            if passed and metre.at(_place(metre, position, way)[0]) != signature:
                break
            if unit == 0:
                if line is not None:
                    lengths.append(tempo_between(line, here))
                line = here
                if (changed := next_level(level, lengths)) != level:
                    level = changed
                    break
        else:
            return


def _place(metre: Metre, position: Fraction, way: int) -> tuple[int, Fraction]:
    """Bar and offset in the direction read: going back, the offset is from the end of the bar."""
    bar, offset = place_of(metre, position)
    if way > 0:
        return bar, offset
    return (bar, metre.at(bar).quarters - offset) if offset else (bar - 1, Fraction(0))
