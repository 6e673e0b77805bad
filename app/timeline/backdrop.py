"""What lies behind the bar lines and changes only with the view: bars in two tints, the picture, the onset marks.

It is kept as an image, so that a line in the hand or a moving playhead repaints a few pixels and no music.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPixmap

from app.colours import Colours
from app.span import Span
from app.timeline.heads import head_font
from app.timeline.lines import CLOSEST_BARS, Lines
from app.timeline.picking import HEAD, ONSETS
from app.timeline.rects import fill_rects
from core.checks import Floats
from core.document import Document
from core.onsets import Onsets

SHORTEST_MARK = 4
"""Pixels of the mark of the softest onset; the strongest is `ONSETS` high."""

CLOSEST_MARKS = 4.0
"""Pixels within which onsets share a mark."""

FIRST_TINT = 3.0 * CLOSEST_BARS
"""Pixels of a bar from which every second one is tinted."""


class Picture(Protocol):
    """Notes or a waveform."""

    def paint(self, painter: QPainter, rect: QRectF, span: Span, colours: Colours) -> None:
        """Paint what is on screen into the rectangle."""

    def name(self, painter: QPainter, rect: QRectF, colours: Colours) -> None:
        """Write what names its rows, over lines painted meanwhile."""


def place_of(lane: QRect) -> QRectF:
    """Where in a lane the picture is: below the heads, above the onset marks."""
    return QRectF(lane).adjusted(0, HEAD, 0, -ONSETS)


class Backdrop:
    """Paints it when anything in it has changed, and else gives the image it has."""

    def __init__(self) -> None:
        self._key: tuple[object, ...] = ()
        self._image = QPixmap()
        self._heights: tuple[Onsets | None, Floats] = (None, np.empty(0))

    def image(
        self,
        size: QSize,
        ratio: float,
        *,
        font: QFont,
        span: Span,
        colours: Colours,
        picture: Picture | None,
        lines: Lines | None,
        onsets: Onsets | None,
        document: Document | None,
    ) -> QPixmap:
        """Give the image for a lane of a size in logical pixels, each of them so many on the screen."""
        marked = None if document is None else (document.free, document.holds)
        key = (size, ratio, span.start, span.end, colours, picture, lines, onsets, marked)
        if key == self._key:
            return self._image
        self._key = key
        self._image = QPixmap(math.ceil(size.width() * ratio), math.ceil(size.height() * ratio))
        self._image.setDevicePixelRatio(ratio)
        self._image.fill(colours.lane)
        painter = QPainter(self._image)
        painter.setFont(head_font(font))
        rect = QRect(0, 0, size.width(), size.height())
        if lines is not None:
            _tint(painter, rect, lines, span, colours)
        if picture is not None:
            picture.paint(painter, place_of(rect), span, colours)
        if lines is not None and document is not None:
            _marked(painter, rect, lines, span, colours, document)
        if onsets is not None and len(onsets):
            _onsets(painter, rect, onsets.time, self._marks(onsets), span, colours.onset)
        painter.end()
        return self._image

    def _marks(self, onsets: Onsets) -> Floats:
        """Pixels of each onset's mark, by its level among the others."""
        if self._heights[0] is not onsets:
            soft, loud = np.percentile(onsets.strength, (5, 95))
            level = np.clip((onsets.strength - soft) / max(loud - soft, 1e-9), 0.0, 1.0)
            self._heights = (onsets, SHORTEST_MARK + (ONSETS - SHORTEST_MARK) * level)
        return self._heights[1]


def _visible_bars(lines: Lines, span: Span) -> list[tuple[int, int, int]]:
    """Number of each whole bar on screen, and the pixels from which to which it lasts."""
    first = max(int(np.searchsorted(lines.bar_time, span.start, side="right")) - 1, 0)
    last = min(int(np.searchsorted(lines.bar_time, span.end)) + 1, len(lines.bar_time))
    x = np.rint((lines.bar_time[first:last] - span.start) / span.seconds_per_pixel).astype(np.int64).tolist()
    return list(zip(lines.bar_number[first:last].tolist(), x, x[1:], strict=False))


def _tint(painter: QPainter, rect: QRect, lines: Lines, span: Span, colours: Colours) -> None:
    if lines.bar_length < FIRST_TINT * span.seconds_per_pixel:
        return
    for number, left, right in _visible_bars(lines, span):
        if number % 2:
            painter.fillRect(left, rect.top(), right - left, rect.height(), colours.lane_odd)


def _marked(
    painter: QPainter, rect: QRect, lines: Lines, span: Span, colours: Colours, document: Document
) -> None:
    """Hatch what has no pulse, and say so; say what is held."""
    if not document.free and not document.holds:
        return
    free, held = set(document.free), set(document.holds)
    hatch = QColor(colours.faint)
    hatch.setAlpha(70)
    for number, left, right in _visible_bars(lines, span):
        if number in free:
            painter.fillRect(left, HEAD, right - left, rect.height(), QBrush(hatch, Qt.BrushStyle.BDiagPattern))
        if number in free or number in held:
            words = "no pulse" if number in free else "held"
            room = QRect(max(left, 0) + 7, HEAD + 3, min(right, rect.right()) - max(left, 0) - 12, 15)
            if room.width() >= painter.fontMetrics().horizontalAdvance(words):
                painter.setPen(colours.faint)
                painter.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, words)


def _onsets(painter: QPainter, rect: QRect, times: Floats, heights: Floats, span: Span, colour: QColor) -> None:
    first, last = np.searchsorted(times, (span.start, span.end))
    if first == last:
        return
    # Of several that fall together, the strongest stands for all; they are gathered by their time, not by where
    # they are on screen, so that nothing flickers while scrolling.
    scale = span.seconds_per_pixel
    together = np.floor(times[first:last] / (CLOSEST_MARKS * scale))
    starts = np.flatnonzero(np.diff(together, prepend=together[0] - 1))
    x = np.rint((times[first:last][starts] - span.start) / scale).astype(np.int64)
    tall = np.rint(np.maximum.reduceat(heights[first:last], starts))
    fill_rects(painter, colour, x=x, y=rect.bottom() + 1 - tall, width=1, height=tall)
