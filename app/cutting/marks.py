"""What of a take is not heard, painted: hatched stretches with the seconds they last, and a mark at each seam."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen, QPolygon

from app.colours import Colours
from app.span import Span
from core.arrangement import Arrangement, minus
from core.passages import Passage, Passages

MARK = 5
"""Half the width of a seam's mark in pixels."""

LEAST = 40
"""Pixels of a stretch in which its seconds are written."""


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two passages meet.

    Parameters
    ----------
    time : float
        Seconds on the lane that shows it.
    taken : float or None
        Seconds of the recording between the two; None where the second comes from an earlier place.
    """

    time: float
    taken: float | None

    @property
    def words(self) -> str:
        """What happens there."""
        if self.taken is None:
            return "goes back to an earlier place"
        return f"{self.taken:.1f} s taken out"


def not_heard(arrangement: Arrangement, duration: float) -> tuple[Passage, ...]:
    """Stretches of a recording that are not heard, in order of time."""
    if arrangement.plain:
        return ()
    return minus((Passage(0.0, duration),), arrangement.heard(duration).parts)


def seams(passages: Passages) -> tuple[Seam, ...]:
    """Seams of a take as it is heard, in take time."""
    return tuple(
        Seam(float(time), after.start - before.end if after.start >= before.end else None)
        for time, before, after in zip(passages.joints[1:], passages.parts, passages.parts[1:], strict=False)
    )


def paint_stretches(
    painter: QPainter, rect: QRect, stretches: tuple[Passage, ...], span: Span, colours: Colours
) -> None:
    """Hatch stretches of a recording that are not heard, between two thin edges."""
    veil = QColor(colours.ground)
    veil.setAlpha(170)
    for stretch in stretches:
        left, right = round(span.x_of(stretch.start)), round(span.x_of(stretch.end))
        if right < rect.left() or left > rect.right():
            continue
        left, right = max(left, rect.left() - 20), min(max(right, left + 2), rect.right() + 20)
        area = QRect(left, rect.top(), right - left, rect.height())
        painter.fillRect(area, veil)
        painter.fillRect(area, QBrush(colours.faint, Qt.BrushStyle.BDiagPattern))
        painter.setPen(QPen(colours.faint, 1))
        painter.drawLine(left, rect.top(), left, rect.bottom())
        painter.drawLine(right, rect.top(), right, rect.bottom())
        if right - left >= LEAST:
            _plate(painter, area, f"\N{MINUS SIGN}{stretch.duration:.1f} s", colours)


def paint_seams(painter: QPainter, rect: QRect, marks: tuple[Seam, ...], span: Span, colours: Colours) -> None:
    """Mark where passages meet: two points that touch, and what was taken out where there is room."""
    for i, seam in enumerate(marks):
        x = round(span.x_of(seam.time))
        if not rect.left() - 80 <= x <= rect.right() + 80:
            continue
        painter.setPen(QPen(colours.text, 1, Qt.PenStyle.DotLine))
        painter.drawLine(x, rect.top(), x, rect.bottom())
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.text)
        middle = rect.bottom() - 2 * MARK
        for side in (-MARK, MARK):
            painter.drawPolygon(
                QPolygon([QPoint(x, middle), QPoint(x + side, middle - MARK), QPoint(x + side, middle + MARK)])
            )
        following = span.x_of(marks[i + 1].time) if i + 1 < len(marks) else rect.right() + 200
        words = "back" if seam.taken is None else f"\N{MINUS SIGN}{seam.taken:.1f} s"
        width = painter.fontMetrics().horizontalAdvance(words) + 8
        if following - x > width + MARK:
            _plate(painter, QRect(x + MARK + 2, middle - 9, width, 18), words, colours)


def _plate(painter: QPainter, area: QRect, words: str, colours: Colours) -> None:
    """Words on a ground of their own, in the middle of an area."""
    metrics = painter.fontMetrics()
    box = QRect(0, 0, metrics.horizontalAdvance(words) + 6, metrics.height() + 2)
    box.moveCenter(
        QPoint(
            area.center().x(), area.bottom() - box.height() // 2 - 4 if area.height() > 60 else area.center().y()
        )
    )
    if box.width() > area.width() + 2:
        return
    painter.fillRect(box, colours.lane)
    painter.setPen(colours.text)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
