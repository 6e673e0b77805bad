"""The level meter: how loud left and right are now, in decibels."""

from __future__ import annotations

import math

from PySide6.QtCore import QRect, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.colours import colours_for

LOWEST = -54.0
"""Decibels at the left end."""

LOUD = -3.0
"""Decibels from which the colour warns."""

FALL = 2.5
"""Decibels by which it falls from one reading to the next; there are 25 a second."""


class Meter(QWidget):
    """Two bars that rise at once and fall slowly."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._levels = [LOWEST, LOWEST]
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Level")
        self.setToolTip("What is heard now: left above, right below")

    @property
    def levels(self) -> tuple[float, float]:
        """Decibels shown, left and right."""
        return self._levels[0], self._levels[1]

    def sizeHint(self) -> QSize:
        """Wide enough for three decibels a pixel."""
        return QSize(96, 14)

    def show_levels(self, left: float, right: float) -> None:
        """Take in peaks, 0 to 1."""
        before = list(self._levels)
        for i, peak in enumerate((left, right)):
            level = 20 * math.log10(peak) if peak > 0 else LOWEST
            self._levels[i] = max(min(level, 0.0), self._levels[i] - FALL, LOWEST)
        if self._levels != before:
            self.update()

    def clear(self) -> None:
        """Show silence."""
        self._levels = [LOWEST, LOWEST]
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        """Paint both bars."""
        colours, painter = colours_for(self.palette()), QPainter(self)
        height = (self.height() - 2) // 2
        for i, level in enumerate(self._levels):
            top = i * (height + 2)
            painter.fillRect(QRect(0, top, self.width(), height), colours.edge)
            wide = round(self.width() * (level - LOWEST) / -LOWEST)
            safe = round(self.width() * (LOUD - LOWEST) / -LOWEST)
            painter.fillRect(QRect(0, top, min(wide, safe), height), colours.playhead)
            if wide > safe:
                painter.fillRect(QRect(safe, top, wide - safe, height), colours.warning)
        painter.end()
