"""Paints the column of bar numbers, whose heads have the shapes of the timeline and point at their rows."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from app.colours import Colours
from app.stack.layout import Layout
from app.stack.scene import Stack
from app.timeline.heads import head_font

NUMBERED = 13.0
"""Pixels of a row from which every row bears its number; below, every fifth does."""


def paint_numbers(
    painter: QPainter, stack: Stack, colours: Colours, *, scroll: float, top: int, height: int
) -> None:
    """Paint the column of bar numbers, in the shapes of the timeline, and which bars that shows."""
    layout, rows, lines = stack.layout, stack.rows, stack.lines
    first, last = layout.visible(scroll, height - top)
    painter.save()
    font = head_font(painter.font())
    font.setPixelSize(max(min(11, int(layout.row_height) - 2), 9))
    painter.setFont(font)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    begin, end = stack.on_timeline
    shows = (rows.end[first:last] > begin) & (rows.begin[first:last] < end)
    every = 1 if layout.row_height >= NUMBERED else 5
    for i, bar in enumerate(rows.bar[first:last].tolist()):
        y = float(layout.tops[first + i]) - scroll + top
        if shows[i]:
            painter.fillRect(QRectF(0, y, 3, layout.row_height), colours.onset)
        line = int(rows.line[rows.first_line[first + i]])
        if lines.beat[line] != 1:
            # A pickup has no bar line of its own.
            _number(painter, colours, QRectF(0, y, layout.left - 16, layout.row_height), str(bar), colours.faint)
            continue
        placed, doubtful = bool(lines.placed[line]), bool(lines.doubtful[line])
        kind = colours.placed if placed else colours.doubtful if doubtful else colours.suggested
        numbered = bar % every == 0
        if every == 1:
            _head(painter, colours, y + layout.row_height / 2, str(bar), kind, layout, placed, doubtful)
            continue
        _small_mark(painter, colours, layout.left - 9, y + layout.row_height / 2, kind, placed, doubtful)
        if numbered:
            middle = y + layout.row_height / 2
            _number(painter, colours, QRectF(0, middle - 7, layout.left - 18, 14), str(bar), colours.text)
    painter.restore()


def _number(painter: QPainter, colours: Colours, box: QRectF, text: str, colour: QColor) -> None:
    painter.setPen(colour)
    painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)


def _head(
    painter: QPainter,
    colours: Colours,
    middle: float,
    text: str,
    kind: QColor,
    layout: Layout,
    placed: bool,
    doubtful: bool,
) -> None:
    """Paint the number of a bar in a head that points at its row."""
    half = min(layout.row_height - 2, 16) / 2
    wide = painter.fontMetrics().horizontalAdvance(text) + 10
    right = layout.left - 12
    box = QRectF(right - wide, middle - half, wide, 2 * half)
    if doubtful:
        painter.setPen(QPen(kind, 1.4))
        painter.setBrush(colours.lane)
        painter.drawPolygon(_diamond(layout.left - 13, middle, half))
        _number(painter, colours, QRectF(0, middle - 9, layout.left - 16 - 2 * half, 18), text, colours.text)
        painter.setPen(kind)
        mark = QRectF(layout.left - 13 - half, middle - half, 2 * half, 2 * half)
        if half >= 6:
            painter.drawText(mark, Qt.AlignmentFlag.AlignCenter, "?")
        return
    if placed:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(kind)
        corners = (box.topLeft(), box.topRight(), QPointF(right + 7, middle), box.bottomRight(), box.bottomLeft())
        painter.drawPolygon(QPolygonF(list(corners)))
        painter.setPen(colours.lane)
    else:
        painter.setPen(QPen(kind, 1))
        painter.setBrush(colours.lane)
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(colours.text)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _small_mark(
    painter: QPainter, colours: Colours, x: float, middle: float, kind: QColor, placed: bool, doubtful: bool
) -> None:
    painter.setPen(QPen(kind, 1))
    painter.setBrush(kind if placed else colours.lane)
    if doubtful:
        painter.drawPolygon(_diamond(x, middle, 3.5))
    elif placed:
        painter.drawRect(QRectF(x - 2, middle - 2, 4, 4))


def _diamond(x: float, y: float, half: float) -> QPolygonF:
    return QPolygonF([QPointF(x, y - half), QPointF(x + half, y), QPointF(x, y + half), QPointF(x - half, y)])
