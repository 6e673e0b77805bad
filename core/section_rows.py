"""What is to be known of each section: its bars, its length, its mean tempo, and how much that varies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from core.document import Section
from core.grid import Grid
from core.section_looks import looks_of


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
    look : int
        How it is painted; see `core.section_looks`.
    """

    name: str
    bar: int
    end: int
    start: float
    length: float
    tempo: float
    spread: float
    look: int

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return self.end - self.bar


def section_rows(grid: Grid, sections: Iterable[Section]) -> tuple[SectionRow, ...]:
    """Measure the sections that lie in a grid, in order of bars; each lasts until the next begins."""
    lines = grid.bar_lines
    first, last = lines[0].bar, lines[-1].bar
    there = sorted((section for section in sections if first <= section.bar < last), key=lambda one: one.bar)
    if not there:
        return ()
    ends = [*(section.bar for section in there[1:]), last]
    times, lengths, tempi = grid.bar_times, grid.bar_lengths, grid.bar_tempi
    rows = []
    for section, end, look in zip(there, ends, looks_of(there), strict=True):
        begin, inside = float(times[section.bar - first]), slice(section.bar - first, end - first)
        length = float(times[end - first]) - begin
        rows.append(
            SectionRow(
                section.name,
                section.bar,
                end,
                begin,
                length,
                60 * float(lengths[inside].sum()) / length,
                float(tempi[inside].std()),
                look,
            )
        )
    return tuple(rows)
