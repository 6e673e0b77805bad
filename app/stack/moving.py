"""Paints a line in the hand over the rows: where it is, and how far from where it was and from the onset."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPen

from app.colours import Colours
from app.stack.scene import Stack
from app.timeline.bar_lines import THICK
from app.timeline.drag import LineDrag
from app.timeline.heads import head_font, paint_label


def paint_moving(
    painter: QPainter,
    stack: Stack,
    colours: Colours,
    drag: LineDrag,
    bar: int,
    *,
    scroll: float,
    top: int,
    height: int,
) -> None:
    """Paint the line in the row it was taken in.

    Parameters
    ----------
    bar : int
        Whose row that is.
    scroll, top, height : float, int, int
        Pixels scrolled, and where the rows begin and how high they are on screen.
    """
    row = stack.rows.row_of(bar)
    if row is None:
        return
    begin, end = float(stack.rows.begin[row]), float(stack.rows.end[row])
    phases = (np.array([drag.time, drag.origin]) - begin) / (end - begin)
    x, was = np.rint(stack.layout.x_of(phases)).astype(int).tolist()
    y = round(top + float(stack.layout.tops[row]) - scroll)
    high = round(stack.layout.row_height)
    painter.save()
    painter.setClipRect(QRect(0, top, stack.layout.width, height))
    painter.setPen(QPen(colours.text, 1, Qt.PenStyle.DotLine))
    painter.drawLine(was, y, was, y + high - 1)
    colour = colours.snap if drag.snapped else colours.placed
    painter.fillRect(x - THICK // 2, y - 2, THICK, high + 4, colour)
    painter.setFont(head_font(painter.font()))
    metrics = painter.fontMetrics()
    box = QRect(0, 0, metrics.horizontalAdvance(drag.words) + 14, metrics.height() + 6)
    left = x + 8 if x + 8 + box.width() <= stack.layout.width else x - 8 - box.width()
    box.moveTopLeft(QRect(left, y + high + 4, 1, 1).topLeft())
    if box.bottom() > top + height:
        box.moveBottom(y - 4)
    paint_label(painter, box, drag.words, colours)
    painter.restore()
