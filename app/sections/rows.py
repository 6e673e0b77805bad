"""The rows of the table of sections: those of the document, and between them those that are suggested."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.sections.looks import looks_shown
from core.document import Section
from core.grid import Grid
from core.section_rows import SectionRow, section_rows
from core.session import Marker


@dataclass(frozen=True, slots=True)
class Row:
    """One section as the table shows it.

    Parameters
    ----------
    facts : SectionRow
        What is measured of it.
    look : int
        How it is painted.
    suggested : bool
        Whether it is not in the document.
    """

    facts: SectionRow
    look: int
    suggested: bool = False


def rows_of(grid: Grid, sections: Sequence[Section], suggested: Sequence[Section]) -> tuple[Row, ...]:
    """All rows in order of bars; a suggestion lasts until the next one, or until a section begins."""
    named = {section.bar for section in sections}
    rows = [*_rows(grid, sections, suggested=False)]
    rows += [row for row in _rows(grid, merged(sections, suggested), suggested=True) if row.facts.bar not in named]
    return tuple(sorted(rows, key=lambda row: row.facts.bar))


def merged(sections: Sequence[Section], suggested: Sequence[Section]) -> tuple[Section, ...]:
    """What would be there if all suggestions were taken over."""
    return tuple(sorted((*sections, *suggested), key=lambda section: section.bar))


def _rows(grid: Grid, sections: Sequence[Section], *, suggested: bool) -> tuple[Row, ...]:
    looks = {section.bar: look for section, look in zip(sections, looks_shown(sections), strict=True)}
    facts = section_rows(grid, [Marker(section.bar, section.name) for section in sections])
    return tuple(Row(each, looks[each.bar], suggested) for each in facts)
