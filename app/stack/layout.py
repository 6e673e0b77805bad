"""Where everything of the bar stack lies: from rows and phases to pixels, and from a pixel to what is under it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.state import Place
from core.bar_rows import BarRows
from core.checks import Floats
from core.grid import Grid

MARGIN = 0.12
"""Part of a bar that a row shows of the music before and after it."""

TITLES = 40
"""Pixels of the row of titles."""

HEADING = 20
"""Pixels of a heading, above the bar a section begins with or the metre changes at."""

GUTTER = 78
"""Pixels of the column of bar numbers."""

SUMMARY = 250
"""Pixels of the column of figures."""

SLIM_SUMMARY = 120
"""The same where the window is narrow: the picture without its figures."""

NARROW = 640
"""Pixels of width from which there is room for figures."""

SHORTEST, TALLEST = 6.0, 72.0
"""Pixels of a row."""

GRAB = 6.0
"""Pixels to both sides of a line within which it is taken hold of."""


@dataclass(frozen=True, slots=True)
class Target:
    """What is under the pointer.

    Parameters
    ----------
    row : int
        Row, its heading included.
    place : (int, int) or None
        Bar and beat of the line within reach.
    time : float
        Seconds of that line, or those under the pointer.
    """

    row: int
    place: Place | None
    time: float


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Pixels of the stack; all of them logical.

    Parameters
    ----------
    width : int
        Of the widget.
    row_height : float
        Of one row.
    tops : (rows + 1,) float
        Upper edge of each row, below its heading, from the top of the first; then the end of the last.
    headings : tuple of str
        What stands above each row; empty for nothing.
    """

    width: int
    row_height: float
    tops: Floats
    headings: tuple[str, ...]

    @classmethod
    def of(cls, headings: tuple[str, ...], *, width: int, row_height: float) -> Layout:
        """Stack rows of one height, leaving room for the headings."""
        room = np.cumsum([HEADING if words else 0 for words in headings], dtype=np.float64)
        tops = row_height * np.arange(len(headings)) + room
        end = tops[-1] + row_height if len(headings) else 0.0
        return cls(width, row_height, np.append(tops, end), headings)

    @property
    def content(self) -> float:
        """Pixels from the top of the first heading to the end of the last row."""
        return float(self.tops[-1])

    @property
    def summary(self) -> int:
        """Pixels of the column of figures."""
        return SUMMARY if self.width >= NARROW else SLIM_SUMMARY

    @property
    def left(self) -> int:
        """Where the music begins."""
        return GUTTER

    @property
    def right(self) -> int:
        """Where the music ends."""
        return max(self.width - self.summary, GUTTER + 60)

    @property
    def bar_width(self) -> float:
        """Pixels from bar line to bar line."""
        return (self.right - self.left) / (1 + 2 * MARGIN)

    def x_of(self, phase: Floats) -> Floats:
        """Pixels of phases."""
        return np.asarray(self.left + (phase + MARGIN) * self.bar_width)

    def phase_at(self, x: float) -> float:
        """Phase at a pixel."""
        return (x - self.left) / self.bar_width - MARGIN

    def row_at(self, y: float) -> int | None:
        """Row at so many pixels from the top of the content; None outside."""
        if not 0 <= y < self.content:
            return None
        # Below the row above means in this one's heading or in itself.
        return int(np.searchsorted(self.tops[:-1] + self.row_height, y, side="right"))

    def visible(self, scroll: float, height: float) -> tuple[int, int]:
        """First row that shows when scrolled by so many pixels, and the one after the last."""
        ends = self.tops[:-1] + self.row_height
        first = int(np.searchsorted(ends, scroll, side="right"))
        last = int(np.searchsorted(self.tops[:-1] - HEADING, scroll + height, side="left"))
        return first, max(last, first)


def headings_of(grid: Grid, rows: BarRows, sections: dict[int, str]) -> tuple[str, ...]:
    """Words above each row: the section that begins there, and the metre where it is another than before."""
    words, before = [], None
    for bar in rows.bar.tolist():
        metre = grid.metre.at(bar)
        parts = [sections.get(bar, ""), "" if metre == before else metre.full]
        words.append("   ".join(part for part in parts if part))
        before = metre
    return tuple(words)


def pick(x: float, y: float, *, rows: BarRows, grid: Grid, layout: Layout) -> Target | None:
    """Find the row, and the line in it, under a pixel.

    Parameters
    ----------
    x : float
        Logical pixels from the left edge.
    y : float
        Logical pixels from the top of the content.
    rows : BarRows
        Of the bars that are stacked.
    grid : Grid
        Those bars.
    layout : Layout
        Where they lie.
    """
    row = layout.row_at(y)
    if row is None:
        return None
    begin, end = float(rows.begin[row]), float(rows.end[row])
    time = begin + layout.phase_at(x) * (end - begin)
    first, last = int(rows.first_line[row]), int(rows.first_line[row + 1])
    if y < layout.tops[row] or first == last:
        return Target(row, None, time)
    at: Floats = layout.x_of(rows.line_phase[first:last])
    away = np.abs(at - x)
    nearest = int(np.argmin(away))
    gaps: Floats = np.diff(at)
    # Where lines stand close, each keeps a third of the way to the next, so that there is room between them.
    reach = min(GRAB, float(gaps.min()) / 3) if len(gaps) else GRAB
    if away[nearest] > reach:
        return Target(row, None, time)
    beat = grid.beats[int(rows.line[first + nearest])]
    return Target(row, (beat.bar, beat.beat), beat.time)
