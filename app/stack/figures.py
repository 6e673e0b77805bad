"""Paints the titles of the bar stack and its column of figures: how far each bar's onsets are off its beats."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from app.colours import Colours
from app.stack.beat_names import paint_beat_names
from app.stack.layout import TITLES, Layout
from app.stack.scene import Stack
from app.timeline.heads import head_font
from core.metre import TimeSignature

FULL = 0.060
"""Seconds that the picture of a deviation reaches to both sides."""

HALF = 44
"""Pixels of them."""

RINGS = 4
"""Beats without an onset that there is room to show."""

MINUS = "\N{MINUS SIGN}"


def _axis(layout: Layout) -> float:
    return layout.right + 16 + HALF


def paint_figures(
    painter: QPainter, stack: Stack, colours: Colours, *, scroll: float, top: int, height: int
) -> None:
    """Paint how far each bar on screen is off as a bar from zero, its spread as a whisker, and both in figures."""
    layout, rows = stack.layout, stack.rows
    first, last = layout.visible(scroll, height - top)
    axis = _axis(layout)
    painter.save()
    painter.setFont(head_font(painter.font()))
    figures = layout.row_height >= 12 and layout.summary > 2 * HALF + 60
    for row in range(first, last):
        y = round(float(layout.tops[row]) - scroll + top)
        deep = round(layout.row_height)
        painter.fillRect(QRectF(axis, y, 1, deep), colours.edge)
        deviation, spread = float(rows.deviation[row]), float(rows.spread[row])
        if not math.isnan(deviation):
            _deviation(painter, colours, axis, y, deep, deviation, spread)
        if figures:
            box = QRectF(axis + HALF + 8, y, 92, deep)
            painter.setPen(colours.text if not math.isnan(deviation) else colours.faint)
            words = _words(deviation, spread)
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, words)
            _silent(painter, colours, box.right() + 8, y + deep / 2, int(rows.silent[row]))
    painter.restore()


def _deviation(
    painter: QPainter, colours: Colours, axis: float, y: int, deep: int, deviation: float, spread: float
) -> None:
    scale = HALF / FULL
    far = max(min(deviation * scale, HALF), -HALF)
    thick = max(round(deep * 0.36), 2)
    from_y = y + (deep - thick) // 2
    painter.fillRect(QRectF(min(axis, axis + far), from_y, abs(far) + 1, thick), colours.tempo)
    if abs(deviation) > FULL:
        tip, way = axis + far, 1 if far > 0 else -1
        middle = y + deep / 2
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.tempo)
        painter.drawPolygon(
            QPolygonF([QPointF(tip, middle - 5), QPointF(tip + 7 * way, middle), QPointF(tip, middle + 5)])
        )
    if math.isnan(spread):
        return
    left, right = (max(min((deviation + side * spread) * scale, HALF), -HALF) for side in (-1, 1))
    middle = y + deep // 2
    painter.fillRect(QRectF(axis + left, middle, right - left + 1, 1), colours.text)
    cap = min(3, deep // 4)
    for end in (left, right):
        painter.fillRect(QRectF(round(axis + end), middle - cap, 1, 2 * cap + 1), colours.text)


def _words(deviation: float, spread: float) -> str:
    if math.isnan(deviation):
        return "\N{EN DASH}"
    late = round(1000 * deviation)
    words = f"{late:+d}".replace("-", MINUS) if late else "0"
    return words if math.isnan(spread) else f"{words} \N{PLUS-MINUS SIGN} {round(1000 * spread)}"


def _silent(painter: QPainter, colours: Colours, x: float, middle: float, count: int) -> None:
    """One hollow ring for each beat without an onset."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colours.faint, 1))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for i in range(min(count, RINGS)):
        painter.drawEllipse(QPointF(x + 4 + 9 * i, middle), 3.0, 3.0)
    painter.restore()


def paint_titles(painter: QPainter, layout: Layout, colours: Colours, *, signature: TimeSignature | None) -> None:
    """Paint what the columns mean, and the beats of the first row on screen above theirs."""
    painter.save()
    painter.setFont(head_font(painter.font()))
    painter.fillRect(QRectF(0, 0, layout.width, TITLES), colours.ground)
    painter.fillRect(QRectF(0, TITLES - 1, layout.width, 1), colours.edge)
    low = QRectF(0, TITLES - 19, layout.width, 16)
    left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
    right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    painter.setPen(colours.text)
    painter.drawText(QRectF(0, low.top(), layout.left - 14, 16), right, "Bar")
    if signature is not None:
        paint_beat_names(painter, layout, signature, top=low.top(), height=16, free_from=layout.left - 14)
    axis = _axis(layout)
    painter.drawText(QRectF(layout.right + 14, 4, layout.summary - 14, 16), left, "Off the even beat")
    painter.setPen(colours.faint)
    painter.drawText(QRectF(axis - HALF, low.top(), HALF - 4, 16), left, "early")
    painter.drawText(QRectF(axis + 4, low.top(), HALF - 4, 16), right, "late")
    if layout.summary > 2 * HALF + 60:
        painter.drawText(QRectF(axis + HALF + 8, low.top(), 92, 16), right, "ms \N{PLUS-MINUS SIGN} spread")
        painter.drawText(QRectF(axis + HALF + 108, low.top(), 60, 16), left, "silent")
    painter.restore()
