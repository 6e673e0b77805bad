"""Paints all of the bar stack: rows, numbers, figures, titles, and what is in the hand."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPen

from app.colours import Colours
from app.stack.figures import paint_figures, paint_titles
from app.stack.grip import Grip
from app.stack.layout import TITLES
from app.stack.moving import paint_moving
from app.stack.numbers import paint_numbers
from app.stack.rows import paint_rows
from app.stack.scene import Stack


def paint_words(painter: QPainter, rect: QRect, colours: Colours, words: str) -> None:
    """Paint a sentence where there are no rows."""
    painter.fillRect(rect, colours.ground)
    painter.setPen(colours.faint)
    flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
    painter.drawText(rect.adjusted(24, 24, -24, -24), flags, words)


def paint_stack(
    painter: QPainter,
    rect: QRect,
    stack: Stack,
    colours: Colours,
    *,
    scroll: float,
    grip: Grip | None,
    focus: int | None,
) -> None:
    """Paint the rows on screen with their titles.

    Parameters
    ----------
    rect : QRect
        All of the viewport.
    scroll : float
        Pixels the rows are scrolled by.
    grip : Grip or None
        The line in the hand.
    focus : int or None
        The bar that keys act on, while they do.
    """
    high = rect.height()
    painter.fillRect(rect, colours.ground)
    for paint in (paint_rows, paint_numbers, paint_figures):
        paint(painter, stack, colours, scroll=scroll, top=TITLES, height=high)
    if grip is not None:
        paint_moving(painter, stack, colours, grip.line, grip.bar, scroll=scroll, top=TITLES, height=high)
    row = None if focus is None else stack.rows.row_of(focus)
    if row is not None:
        painter.setPen(QPen(colours.text, 2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        top = round(TITLES + float(stack.layout.tops[row]) - scroll)
        painter.drawRect(QRect(1, top, stack.layout.width - 2, round(stack.layout.row_height)))
    first, last = stack.layout.visible(scroll, high - TITLES)
    bar = int(stack.rows.bar[first]) if first < last else 1
    # Last, for rows scroll away under them.
    paint_titles(painter, stack.layout, colours, signature=stack.grid.metre.at(bar))
