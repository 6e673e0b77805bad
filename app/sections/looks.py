"""How sections are painted: the fill and the pattern of each look, the same in every lane and list."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QIcon, QPainter, QPixmap

from app.colours import Colours
from core.section_looks import PATTERNS

HUES = ("Blue", "Sand", "Green", "Rose", "Olive", "Grey")
"""Names of `Colours.sections`."""

SWATCH = QSize(18, 12)

_BRUSHES = {
    "plain": Qt.BrushStyle.NoBrush,
    "slanted": Qt.BrushStyle.BDiagPattern,
    "dotted": Qt.BrushStyle.Dense7Pattern,
    "upright": Qt.BrushStyle.VerPattern,
}
INK, BOLD_INK = 48, 140
"""Opacity of a pattern, of 255: where text on it must stay easy to read, and in a small picture."""


def tint(look: int, colours: Colours) -> QColor:
    """The fill of a look."""
    return colours.sections[look % len(colours.sections)]


def paint_look(painter: QPainter, box: QRect, look: int, colours: Colours, ink: int = INK) -> None:
    """Fill a box; `ink` is the opacity of its pattern."""
    painter.fillRect(box, tint(look, colours))
    lines = QColor(colours.text)
    lines.setAlpha(ink)
    painter.fillRect(box, QBrush(lines, _BRUSHES[PATTERNS[look % len(PATTERNS)]]))


def look_words(look: int) -> str:
    """A look in words."""
    return f"{HUES[look % len(HUES)]}, {PATTERNS[look % len(PATTERNS)]}"


def swatch(look: int, colours: Colours, ratio: float, *, suggested: bool = False) -> QIcon:
    """A small picture of a look; what is only suggested has a broken outline and no fill."""
    picture = QPixmap(SWATCH * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    box = QRect(0, 0, SWATCH.width(), SWATCH.height())
    if not suggested:
        paint_look(painter, box, look, colours, BOLD_INK)
    painter.setPen(QColor(colours.faint))
    if suggested:
        pen = painter.pen()
        pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
    painter.drawRect(box.adjusted(0, 0, -1, -1))
    painter.end()
    return QIcon(picture)
