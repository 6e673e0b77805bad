"""The waveform of an audio take: how far the sound goes, its body darker, and at last its samples."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from app.colours import Colours
from app.span import Span
from app.timeline.rects import fill_rects
from core.checks import Floats
from core.peaks import BASE, Float32, Peaks

Rows = NDArray[np.int16]
Lane = tuple[float, float]

MARGIN = 0.06
"""Part of a channel's height that stays empty above and below its loudest sample."""

LOUDNESS = 0.6
"""A sound looks as loud as it is heard, so that soft notes are not lost beside loud ones: loudness grows with this
power of the sound pressure (Stevens, "The Measurement of Loudness", 1955)."""

BODY = 0.02
"""Seconds over which the body is a mean: one swing of the lowest tones, or it would flutter with each."""

DOTS = 5.0
"""Physical pixels from sample to sample above which each gets a dot."""


class WavePicture:
    """Paints the peaks of a take, each channel in a lane of its own, which its loudest sample fills."""

    def __init__(self, peaks: Peaks) -> None:
        self.peaks = peaks

    def paint(self, painter: QPainter, rect: QRectF, span: Span, colours: Colours) -> None:
        """Paint what is on screen.

        Parameters
        ----------
        painter : QPainter
        rect : QRectF
            Where, in logical pixels of a lane: its left edge is where the span says, its height is shared by the
            channels.
        span : Span
            What is on screen.
        colours : Colours
            Of the window. The ground is left as it is.
        """
        painter.save()
        fine = painter.device().devicePixelRatioF()
        columns = max(round(rect.width() * fine), 1)
        start, end = span.time_at(rect.left()), span.time_at(rect.left() + columns / fine)
        each = (end - start) * self.peaks.take.rate / columns
        lanes = _lanes(rect, self.peaks.channels, fine)
        for middle, _ in lanes:
            fill_rects(painter, colours.edge, x=rect.left(), y=middle, width=rect.width(), height=1 / fine)
        extremes = self.peaks.columns(start, end, columns)
        if each < BASE:
            extremes = body = self._joined(extremes, start, end, thick=round(fine))
        else:
            body = _smooth(self.peaks.body(start, end, columns), round(BODY / (end - start) * columns))
            body = np.clip(body, extremes[..., :1], extremes[..., 1:])
        for (middle, half), *layers in zip(lanes, extremes, body, strict=True):
            top = np.floor((middle - half) * fine)
            rows = [_rows(middle * fine - top, half * fine * self._seen(layer), round(fine)) for layer in layers]
            image = _image(rows, int(np.ceil(2 * half * fine)) + 2, (colours.wave, colours.wave_loud))
            image.setDevicePixelRatio(fine)
            painter.drawImage(QPointF(rect.left(), top / fine), image)
        if each * DOTS < 1:
            self._dots(painter, span, colours, lanes, start, end)
        painter.restore()

    def name(self, painter: QPainter, rect: QRectF, colours: Colours) -> None:
        """A wave needs no names."""

    def _seen(self, values: Float32) -> Floats:
        """Heights from -1 to 1 at which samples are drawn."""
        return np.asarray(
            np.sign(values) * (np.abs(values) / (self.peaks.peak or 1.0)) ** LOUDNESS, dtype=np.float64
        )

    def _joined(self, columns: Float32, start: float, end: float, *, thick: int) -> Float32:
        """Let each column reach to where the line from sample to sample crosses its edges, a line so thick."""
        times, values = self.peaks.curve(start, end)
        if len(times) < 2:
            return columns
        edges = np.linspace(start, end, columns.shape[1] + 1)
        crossings = np.array([np.interp(edges, times, channel, left=np.nan, right=np.nan) for channel in values])
        low = np.fmin(columns[..., 0], np.fmin(crossings[:, :-1], crossings[:, 1:]))
        high = np.fmax(columns[..., 1], np.fmax(crossings[:, :-1], crossings[:, 1:]))
        for _ in range(thick - 1):
            low[:, 1:], high[:, 1:] = np.fmin(low[:, 1:], low[:, :-1]), np.fmax(high[:, 1:], high[:, :-1])
        return np.stack([low, high], axis=-1).astype(np.float32)

    def _dots(
        self, painter: QPainter, span: Span, colours: Colours, lanes: Sequence[Lane], start: float, end: float
    ) -> None:
        times, values = self.peaks.curve(start, end)
        x = (times - span.start) / span.seconds_per_pixel
        for (middle, half), channel in zip(lanes, values, strict=True):
            y = middle - half * self._seen(channel)
            fill_rects(painter, colours.wave_loud, x=x - 1.5, y=y - 1.5, width=3, height=3)


def _lanes(rect: QRectF, channels: int, fine: float) -> list[Lane]:
    """Middle and half the height of each channel's lane, the middle on a whole physical pixel."""
    height = rect.height() / channels
    middles = [rect.top() + height * (lane + 0.5) for lane in range(channels)]
    return [(np.floor(middle * fine) / fine, 0.5 * height * (1 - MARGIN)) for middle in middles]


def _smooth(columns: Float32, width: int) -> Float32:
    """Mean over so many neighbouring columns."""
    if width < 2:
        return columns
    there = ~np.isnan(columns)
    window = np.ones(width + 1 - width % 2)
    total, count = (
        np.apply_along_axis(np.convolve, 1, values, window, mode="same")[:, : columns.shape[1]]
        for values in (np.where(there, columns, 0.0), there.astype(np.float64))
    )
    return np.where(there, total / np.maximum(count, 1.0), np.nan).astype(np.float32)


def _rows(middle: float, heights: Floats, least: int) -> tuple[Rows, Rows]:
    """First row of each column and the one after its last, some apart; none where there is nothing."""
    there = ~np.isnan(heights[:, 0])
    low, high = np.rint(middle - np.where(there[:, None], heights, 0.0)).astype(np.int16).T
    return high, np.where(there, np.maximum(low, high + least), high).astype(np.int16)


def _image(layers: Sequence[tuple[Rows, Rows]], height: int, colours: Sequence[QColor]) -> QImage:
    """Paint columns from row to row, each layer over those before it.

    Row by row with numpy: thousands of rectangles one pixel wide cost many times as much on a fine screen, because
    each of their pixels lies in another line of memory.
    """
    row = np.arange(height, dtype=np.int16)[:, None]
    # Lines of an image begin at multiples of four bytes.
    width = len(layers[0][0])
    cells = np.zeros((height, -(-width // 4) * 4), np.uint8)
    for first, after in layers:
        cells[:, :width] += (row >= first) & (row < after)
    image = QImage(cells.data, width, height, cells.shape[1], QImage.Format.Format_Indexed8)
    image.setColorTable([0, *(colour.rgb() for colour in colours)])
    # The image does not own the memory it looks at.
    return image.copy()
