"""Paints a line in the hand: where it was, where it is, and how far it is from both that and the onset."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPen

from app.colours import Colours
from app.span import Span
from app.timeline.bar_lines import THICK, beat_top
from app.timeline.drag import LineDrag
from app.timeline.heads import head_font, paint_head, paint_label, polygon
from app.timeline.picking import HEAD, ONSETS


def paint_in_hand(painter: QPainter, rect: QRect, drag: LineDrag, span: Span, colours: Colours) -> None:
    """Paint it over everything else in a lane."""
    painter.save()
    painter.setFont(head_font(painter.font()))
    x, was = round(span.x_of(drag.time)), round(span.x_of(drag.origin))
    bar_line = drag.place[1] == 1
    top = rect.top() + HEAD - 3 if bar_line else beat_top(rect)
    painter.setPen(QPen(colours.text, 1, Qt.PenStyle.DotLine))
    painter.drawLine(was, top, was, rect.bottom())
    colour = colours.snap if drag.snapped else colours.placed
    painter.fillRect(x - THICK // 2, top, THICK, rect.bottom() - top + 1, colour)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if bar_line:
        paint_head(painter, rect, x, str(drag.place[0]), colour, colours, placed=True, doubtful=False)
    else:
        painter.fillRect(x - 4, top - 4, 8, 8, colour)
    if drag.snapped:
        low = rect.bottom() + 1
        painter.setPen(QPen(colours.lane, 1))
        painter.setBrush(colour)
        painter.drawPolygon(polygon((x - 9, low), (x + 0.5, low - ONSETS), (x + 10, low)))
    metrics = painter.fontMetrics()
    box = QRect(0, 0, metrics.horizontalAdvance(drag.words) + 14, metrics.height() + 6)
    fits = x + 10 + box.width() <= rect.right()
    box.moveTopLeft(rect.topLeft())
    box.translate((x + 10 if fits else x - 10 - box.width()) - rect.left(), HEAD + 6)
    paint_label(painter, box, drag.words, colours)
    painter.restore()
