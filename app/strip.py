"""What the strips over a page have in common: how they are set apart from it."""

from __future__ import annotations

from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from app.colours import Colours


def paint_strip(strip: QWidget, colours: Colours) -> None:
    """Set a strip apart from the page below it by its ground and a line."""
    painter = QPainter(strip)
    painter.fillRect(strip.rect(), colours.lane)
    painter.setPen(colours.edge)
    painter.drawLine(0, strip.height() - 1, strip.width(), strip.height() - 1)
    painter.end()
