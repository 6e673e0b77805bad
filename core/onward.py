"""How the bars go on after the last mark, and back before the first: read off the tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np

from core.metre import Metre
from core.pace import bar_lengths, levels_after, next_level, tempo_after
from core.tables import Tables
from core.way import Mark, place_of


def onward(
    tables: Tables, metre: Metre, marks: Sequence[Mark], opening: float | None = None, way: int = 1
) -> Iterator[Mark]:
    """Read marks off the tables, from the last mark on or, with `way` -1, from the first one back.

    The table is changed where the metre changes and where the tempo of the last bars has left its own.

    Parameters
    ----------
    marks : sequence of Mark
        What is known, at least one.
    opening : float, optional
        Log seconds of a quarter to go on with, instead of what the marks say.

    Yields
    ------
    Mark
        At the onsets the way lands on, to the end of the take.
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
        line = (position, time) if unit == 0 else None
        for step in table.read(way * time, unit, tempo):
            position += step.units * step_quarters
            time = way * float(table.steps.time[step.node])
            tempo = step.quarter
            yield Mark(position, time)
            if metre.at(_place(metre, position, way)[0]) != signature:
                break
            if step.unit == 0:
                if line is not None:
                    lengths.append(float(np.log((time - line[1]) / float(position - line[0]))))
                line = (position, time)
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
