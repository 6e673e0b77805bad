"""Many equal lines from top to bottom, plain or dashed, with an edge that keeps them readable on any music."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter, QPixmap

DASH, GAP = 6, 4
"""Pixels of a dash and of the gap after it."""


def paint_upright(
    painter: QPainter,
    colour: QColor,
    x: Iterable[int],
    top: int,
    width: int,
    height: int,
    *,
    edge: QColor | None = None,
    dashed: bool = False,
) -> None:
    """Stamp the same line at every place.

    Qt blends an image several times as fast as it does translucent lines or rectangles, and a dashed or a wide pen
    is slower still.

    Parameters
    ----------
    painter : QPainter
        Its device says how many pixels of the screen there are to a logical one.
    colour : QColor
        Perhaps translucent.
    x : iterable of int
        Logical pixels at which each line begins.
    top, width, height : int
        The same for all, in logical pixels.
    edge : QColor, optional
        One more pixel to both sides.
    dashed : bool
        Whether there are gaps; the edge shows in them.
    """
    margin = 0 if edge is None else 1
    ratio = painter.device().devicePixelRatioF()
    stamp = QPixmap(round((width + 2 * margin) * ratio), round(height * ratio))
    stamp.setDevicePixelRatio(ratio)
    stamp.fill(Qt.GlobalColor.transparent if edge is None else edge)
    line = QPainter(stamp)
    line.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
    for y in range(0, height, DASH + GAP) if dashed else (0,):
        line.fillRect(margin, y, width, DASH if dashed else height, colour)
    line.end()
    for at in x:
        painter.drawPixmap(at - margin, top, stamp)
