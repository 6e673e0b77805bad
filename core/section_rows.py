"""What is to be known of each section: its bars, its length, its mean tempo, and how much that varies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from core.grid import Grid
from core.session import Marker


@dataclass(frozen=True, slots=True)
class SectionRow:
    """One section of a grid.

    Parameters
    ----------
    name : str
    bar, end : int
        Bar it begins with, and the one at whose line it ends.
    start, length : float
        Seconds of take time, and seconds it lasts.
    tempo : float
        Mean tempo, its quarters by its time, in quarters a minute.
    spread : float
        Standard deviation of its bars' tempi, in quarters a minute.
    """

    name: str
    bar: int
    end: int
    start: float
    length: float
    tempo: float
    spread: float

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return self.end - self.bar


def section_rows(grid: Grid, sections: Iterable[Marker]) -> tuple[SectionRow, ...]:
    """Measure the sections that lie in a grid, in order of bars; each lasts until the next begins."""
    lines = grid.bar_lines
    first, last = lines[0].bar, lines[-1].bar
    there = sorted((section for section in sections if first <= section.bar < last), key=lambda one: one.bar)
    if not there:
        return ()
    ends = [*(section.bar for section in there[1:]), last]
    times = grid.bar_times
    rows = []
    for section, end in zip(there, ends, strict=True):
        inside = times[section.bar - first : end - first + 1]
        quarters = np.array([float(grid.metre.at(bar).quarters) for bar in range(section.bar, end)])
        length = float(inside[-1] - inside[0])
        tempi = 60 * quarters / np.diff(inside)
        rows.append(
            SectionRow(
                section.name,
                section.bar,
                end,
                float(inside[0]),
                length,
                60 * float(quarters.sum()) / length,
                float(tempi.std()),
            )
        )
    return tuple(rows)
