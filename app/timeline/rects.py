"""Many rectangles at once, straight from an array: making a list of Qt's objects takes longer than painting."""

from __future__ import annotations

from typing import cast

import numpy as np
import shiboken6
from numpy.typing import ArrayLike
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter


def fill_rects(
    painter: QPainter, colour: QColor, *, x: ArrayLike, y: ArrayLike, width: ArrayLike, height: ArrayLike
) -> None:
    """Fill rectangles given in logical pixels; each argument is an array of them or one number for all.

    Edges are rounded to whole physical pixels, so that neighbours meet without a seam.
    """
    sizes = [np.size(values) for values in (x, y, width, height)]
    if not min(sizes):
        return
    # A QRectF is these four doubles, and Qt takes the address of the first of many.
    table = np.empty((max(sizes), 4))
    for column, values in enumerate((x, y, width, height)):
        table[:, column] = values
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    painter.drawRects(cast(QRectF, shiboken6.Shiboken.wrapInstance(table.ctypes.data, QRectF)), len(table))
