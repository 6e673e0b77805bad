"""Where every note of a take is now, on the clock and in the lane."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF

from app.span import Span
from core.repairs import Repair
from core.take import MidiTake

REACH = 4.0
"""Pixels beside a note that still mean it."""


class NotePlaces:
    """Notes of a recording as they are after what was put right; those removed stay where they were.

    Parameters
    ----------
    take : MidiTake
        As it was recorded.
    repairs : sequence of Repair
        What was put right.
    """

    def __init__(self, take: MidiTake, repairs: Sequence[Repair]) -> None:
        notes = take.notes
        self.pitch = notes.pitch
        self.start, self.velocity = notes.start.copy(), notes.velocity.copy()
        self.removed = np.zeros(len(notes), dtype=bool)
        self.changed: dict[int, Repair] = {repair.note: repair for repair in repairs}
        for note, repair in self.changed.items():
            self.start[note] = max(self.start[note] + repair.shift, 0.0)
            self.removed[note] = repair.removed
            if repair.velocity is not None:
                self.velocity[note] = repair.velocity
        self.end = notes.end + (self.start - notes.start)

    def rect(self, note: int, area: QRectF, rows: tuple[float, int], span: Span, shift: float = 0.0) -> QRectF:
        """Where a note lies, moved by so many seconds; `rows` as `NotesPicture.rows` gives them."""
        row, highest = rows
        left, right = (span.x_of(float(time) + shift) for time in (self.start[note], self.end[note]))
        top = area.top() + row * (highest - int(self.pitch[note]))
        return QRectF(left, top, max(right - left, 2.0), row)

    def at(self, x: float, y: float, area: QRectF, rows: tuple[float, int], span: Span) -> int | None:
        """The note under a place of the lane: the nearest in pitch, of those the one that began last."""
        row, highest = rows
        slack = REACH * span.seconds_per_pixel
        time = span.time_at(x)
        there = np.flatnonzero((self.start - slack <= time) & (time <= np.maximum(self.end, self.start) + slack))
        away = np.abs(area.top() + row * (highest - self.pitch[there] + 0.5) - y)
        near = away <= row / 2 + REACH
        there, away = there[near], away[near]
        if not len(there):
            return None
        return int(there[np.lexsort((-self.start[there], np.round(away / max(row, 1.0))))[0]])

    def inside(self, box: QRectF, area: QRectF, rows: tuple[float, int], span: Span) -> NDArray[np.int64]:
        """Notes that begin or sound in a box of the lane."""
        row, highest = rows
        low, high = span.time_at(box.left()), span.time_at(box.right())
        middle = area.top() + row * (highest - self.pitch + 0.5)
        there = (self.start <= high) & (self.end >= low) & (middle >= box.top()) & (middle <= box.bottom())
        return np.flatnonzero(there)
