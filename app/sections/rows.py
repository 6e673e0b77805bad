"""The rows of the table of sections: those of the document, and between them those that are suggested."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.document import Section
from core.grid import Grid
from core.section_rows import SectionRow, section_rows


@dataclass(frozen=True, slots=True)
class Row:
    """One section as the table shows it.

    Parameters
    ----------
    facts : SectionRow
        What is measured of it.
    suggested : bool
        Whether it is not in the document.
    """

    facts: SectionRow
    suggested: bool = False


def rows_of(grid: Grid, sections: Sequence[Section], suggested: Sequence[Section]) -> tuple[Row, ...]:
    """All rows in order of bars; a suggestion lasts until the next one, or until a section begins."""
    named = {section.bar for section in sections}
    rows = [Row(facts) for facts in section_rows(grid, sections)]
    if suggested:
        every = section_rows(grid, merged(sections, suggested))
        rows += [Row(facts, suggested=True) for facts in every if facts.bar not in named]
    return tuple(sorted(rows, key=lambda row: row.facts.bar))


def merged(sections: Sequence[Section], suggested: Sequence[Section]) -> tuple[Section, ...]:
    """What would be there if all suggestions were taken over."""
    return tuple(sorted((*sections, *suggested), key=lambda section: section.bar))
