"""Heads of bar lines and other small signs, each told from the others by its shape."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPen, QPolygonF

from app.colours import Colours
from app.timeline.picking import HEAD


def head_font(font: QFont) -> QFont:
    """Make the font of bar numbers from that of the lane."""
    small = QFont(font)
    small.setPixelSize(11)
    return small


def reach_of(number: int, font: QFont) -> int:
    """Pixels to both sides of a line within which it and its head are painted."""
    return 18 + QFontMetrics(head_font(font)).horizontalAdvance(str(number))


def head_edges(x: int, text: int, width: int, *, doubtful: bool) -> tuple[int, int]:
    """Pixels from which to which a head reaches.

    Parameters
    ----------
    x : int
        Pixel of the line.
    text : int
        Pixels of its number.
    width : int
        Pixels of the lane: the head of a line at its very edge is moved in, so that the number can be read.
    """
    left, right = (9, 12 + text) if doubtful else (max(text // 2 + 6, 9), max(text // 2 + 6, 9) + 1)
    inward = 0
    if 0 <= x < width and not doubtful:
        inward = max(left - x, 0) - max(x + right - width, 0)
    return x - left + inward, x + right + inward


def paint_head(
    painter: QPainter,
    rect: QRect,
    x: int,
    text: str,
    colour: QColor,
    colours: Colours,
    *,
    placed: bool,
    doubtful: bool,
    bold: bool = False,
) -> None:
    """Paint the head of a bar line with its number: filled and pointed, outlined, or a diamond with a query.

    Parameters
    ----------
    bold : bool
        Whether it is emphasised by a thicker outline.
    """
    top = rect.top()
    left, right = head_edges(x, painter.fontMetrics().horizontalAdvance(text), rect.width(), doubtful=doubtful)
    box = QRectF(left + 0.5, top + 1.5, right - left - 1, 15)
    outline = QPen(colour, 2.0 if bold else 1.0)
    if doubtful:
        painter.setPen(outline)
        painter.setBrush(colours.lane)
        painter.drawPolygon(diamond(x + 0.5, top + 9.5, 8.5))
        plain = painter.font()
        strong = QFont(plain)
        strong.setBold(True)
        painter.setFont(strong)
        painter.drawText(QRectF(x - 7.5, top + 2, 16, 15), Qt.AlignmentFlag.AlignCenter, "?")
        painter.setFont(plain)
        painter.setPen(colours.text)
        painter.drawText(QRect(x + 11, top + 2, right - x, 15), Qt.AlignmentFlag.AlignVCenter, text)
        return
    if placed:
        low = box.bottom() - 3
        painter.setPen(QPen(colours.text, 2.0) if bold else Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawPolygon(
            polygon(
                (box.left(), box.top()),
                (box.right(), box.top()),
                (box.right(), low),
                (min(max(x + 0.5, box.left()), box.right()), low + 7),
                (box.left(), low),
            )
        )
        painter.setPen(colours.lane)
    else:
        painter.setPen(outline)
        painter.setBrush(colours.lane)
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(colours.text)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def paint_mark(painter: QPainter, top: int, x: int, colour: QColor, colours: Colours, *, filled: bool) -> None:
    """Paint a head without a number."""
    painter.setPen(QPen(colour, 1))
    if filled:
        painter.setBrush(colour)
        painter.drawPolygon(polygon((x - 3.5, top + 9), (x + 4.5, top + 9), (x + 0.5, top + 17)))
    else:
        painter.setBrush(colours.lane)
        painter.drawPolygon(diamond(x + 0.5, top + 13, 4))


def paint_ring(painter: QPainter, box: QRectF, colours: Colours) -> None:
    """Ring the line that keys act on."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for colour, width in ((colours.lane, 4.0), (colours.text, 2.0)):
        painter.setPen(QPen(colour, width))
        painter.drawRoundedRect(box, 4, 4)


def paint_label(painter: QPainter, box: QRect, words: str, colours: Colours) -> None:
    """Paint a small label on a ground of its own, readable on whatever lies under it."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.text)
    painter.drawRoundedRect(box, 4, 4)
    painter.setPen(colours.ground)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
    painter.restore()


def ring_of(rect: QRect, x: int, text: int, *, doubtful: bool) -> QRectF:
    """Give the box around the head of a bar line."""
    left, right = head_edges(x, text, rect.width(), doubtful=doubtful)
    return QRectF(left - 2.5, rect.top() + 1, right - left + 5, HEAD + 2)


def diamond(x: float, y: float, half: float) -> QPolygonF:
    """Stand a square on its corner."""
    return polygon((x, y - half), (x + half, y), (x, y + half), (x - half, y))


def polygon(*points: tuple[float, float]) -> QPolygonF:
    """Make a polygon of pixels."""
    return QPolygonF([QPointF(x, y) for x, y in points])
