"""A line in the hand, and the bars as they would be, were it let go."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.stack.layout import MARGIN, Target
from app.stack.scene import Stack
from app.timeline.drag import SNAP, LineDrag
from app.timeline.lines import Lines
from core import gestures
from core.bar_rows import bar_rows
from core.document import Document
from core.errors import BarwrightError

CLOSEST_LINES = 0.01
"""Seconds a dragged line keeps from its neighbours."""

CLOSE_BY = 3.0 * SNAP
"""Pixels within which the distance of a dragged line to an onset is worth saying."""


@dataclass(frozen=True, slots=True)
class Grip:
    """A line in the hand.

    Parameters
    ----------
    bar : int
        Whose row it was taken in; that row keeps its stretch meanwhile, so that the line stays under the pointer.
    stretch : (float, float)
        Seconds at phase 0 and 1 of that row.
    x : float
        Pixels at which it was taken.
    line : LineDrag
        Where it is.
    """

    bar: int
    stretch: tuple[float, float]
    x: float
    line: LineDrag

    @classmethod
    def of(cls, stack: Stack, target: Target, x: float) -> Grip | None:
        """Take hold of what is under the pointer; None where that is no line."""
        if target.place is None:
            return None
        rows = stack.rows
        return cls(
            int(rows.bar[target.row]),
            (float(rows.begin[target.row]), float(rows.end[target.row])),
            x,
            LineDrag.of(target.place, target.time, stack.lines.neighbours(target.place)),
        )

    def to(self, stack: Stack, x: float, *, snapping: bool) -> Grip:
        """Move it to a pixel."""
        begin, end = self.stretch
        scale = (end - begin) / stack.layout.bar_width
        pointer = self.line.origin + (x - self.x) * scale
        line = self.line.to(
            pointer,
            onset=gestures.nearest_onset(stack.onsets, pointer, CLOSE_BY * scale),
            within=SNAP * scale if snapping else 0.0,
            least=CLOSEST_LINES,
        )
        return replace(self, line=line)

    def preview(self, stack: Stack, document: Document) -> Stack:
        """Return the rows as they would be; as they are where the line cannot be let go here."""
        grid = stack.grid
        if self.line.moved:
            try:
                edit = gestures.drag(document, grid, self.line.place, self.line.time)
            except BarwrightError:
                # The release says what is wrong with it.
                return stack
            seen = gestures.preview(grid, edit)
            if seen is None:
                return stack
            grid = seen
        rows = bar_rows(grid, stack.onsets, margin=MARGIN, stretch={self.bar: self.stretch})
        # Not kept for others: there is another grid with every pixel.
        return replace(stack, grid=grid, rows=rows, lines=Lines(grid))
