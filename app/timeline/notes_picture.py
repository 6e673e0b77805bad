"""The notes of a MIDI take: pitch over time, velocity as weight and shade, the pedal beneath."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter

from app.colours import Colours
from app.span import Span
from app.timeline.rects import fill_rects
from core.checks import Floats
from core.take import MidiTake

SHADES = 8
"""Steps from the softest to the loudest colour."""

LEAST_RANGE = 24
"""Semitones shown at least, so that a narrow take does not look like a wall."""

MOST_THICK = 12.0
"""Pixels of a note of usual velocity at most."""

LEAST = 1.5
"""Pixels of any note at least."""

PEDAL = 7.0
"""Pixels of the pedal's band where there is room; else a tenth of the height."""

HEAD = 2.0
"""Pixels of the dark edge a note begins with, where it is long enough to have one."""


class NotesPicture:
    """Paints the notes of a take, the heights fitted to the pitches it has."""

    def __init__(self, take: MidiTake) -> None:
        notes = take.notes
        self._start, self._end, self._pitch = notes.start, notes.end, notes.pitch
        # A long note may reach into a stretch from far before it.
        self._reach = np.maximum.accumulate(notes.end) if len(notes) else notes.end
        low, high = (int(notes.pitch.min()), int(notes.pitch.max())) if len(notes) else (60, 60)
        spare = max(LEAST_RANGE - (high - low + 3), 0)
        self._lowest, self._highest = low - 1 - spare // 2, high + 1 + spare - spare // 2
        self._weight = _weights(notes.velocity)
        self._shade = np.minimum((self._weight * SHADES).astype(np.intp), SHADES - 1)
        self._down, self._lift = _pedalled(take)

    def paint(self, painter: QPainter, rect: QRectF, span: Span, colours: Colours) -> None:
        """Paint what is on screen.

        Parameters
        ----------
        painter : QPainter
        rect : QRectF
            Where, in logical pixels of a lane: its left edge is where the span says, its height is shared by the
            pitches and the pedal.
        span : Span
            What is on screen.
        colours : Colours
            Of the window. The ground is left as it is.
        """
        painter.save()
        fine = painter.device().devicePixelRatioF()
        band, (row, _) = self._band(rect), self.rows(rect)
        _, octaves = self._octaves(painter, rect)
        fill_rects(painter, colours.edge, x=rect.left(), y=octaves, width=rect.width(), height=1 / fine)
        self._notes(painter, rect, row, fine, span, colours)
        if band:
            self._pedal(painter, rect, band, fine, span, colours)
        painter.restore()

    def rows(self, rect: QRectF) -> tuple[float, int]:
        """Height of the row of a pitch in a rectangle, and the pitch of the highest row."""
        band = self._band(rect)
        return (rect.height() - band - (2 if band else 0)) / (self._highest - self._lowest + 1), self._highest

    def _band(self, rect: QRectF) -> float:
        """Height of the pedal's band."""
        return min(PEDAL, 0.1 * rect.height()) if len(self._down) else 0.0

    def name(self, painter: QPainter, rect: QRectF, colours: Colours) -> None:
        """Write the names of the octaves, over lines painted meanwhile."""
        painter.save()
        painter.setFont(_small(painter.font()))
        metrics, ground = painter.fontMetrics(), QColor(colours.lane)
        ground.setAlpha(215)
        pitches, y = self._octaves(painter, rect)
        for pitch, at in zip(pitches, y, strict=True):
            # Middle C is C4 in scientific pitch notation.
            text, tall = f"C{pitch // 12 - 1}", metrics.height() - 2
            box = QRectF(rect.left() + 1, at - tall - 1, metrics.horizontalAdvance(text) + 6, tall)
            painter.fillRect(box, ground)
            painter.setPen(colours.faint)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        painter.restore()

    def _octaves(self, painter: QPainter, rect: QRectF) -> tuple[list[int], list[float]]:
        """Every C, and where its hairline is; none where the octaves are not far enough apart for a name."""
        row, _ = self.rows(rect)
        if 12 * row < 2 * QFontMetrics(_small(painter.font())).height():
            return [], []
        fine = painter.device().devicePixelRatioF()
        pitches = range(-(-self._lowest // 12) * 12, self._highest + 1, 12)
        return list(pitches), [round((rect.top() + row * (self._highest - c + 1)) * fine) / fine for c in pitches]

    def _notes(
        self, painter: QPainter, rect: QRectF, row: float, fine: float, span: Span, colours: Colours
    ) -> None:
        scale = span.seconds_per_pixel
        low, high = span.time_at(rect.left()), span.time_at(rect.right())
        first, last = int(np.searchsorted(self._reach, low)), int(np.searchsorted(self._start, high))
        left = np.rint((self._start[first:last] - span.start) / scale * fine)
        right = np.rint((self._end[first:last] - span.start) / scale * fine)
        left = np.clip(left, np.floor(rect.left() * fine) - 8, None)
        right = np.clip(right, left + round(fine), np.ceil(rect.right() * fine) + 8)
        tiny = right - left <= fine
        which = _loudest_of_each_pixel(left, tiny, self._pitch[first:last], self._weight[first:last])
        left, right, which = left[which] / fine, right[which] / fine, which + first
        weight, shade = self._weight[which], self._shade[which]
        # The loudest notes are a little thicker than their row: semitones side by side are rare.
        thick = np.rint(np.maximum(min(row, MOST_THICK) * (0.45 + 0.8 * weight), LEAST) * fine) / fine
        middle = rect.top() + row * (self._highest - self._pitch[which] + 0.5)
        top = np.rint((middle - 0.5 * thick) * fine) / fine
        for step in range(SHADES):
            at = shade == step
            colour = _mixed(colours.note_soft, colours.note, step / (SHADES - 1))
            fill_rects(painter, colour, x=left[at], y=top[at], width=(right - left)[at], height=thick[at])
        long = right - left > 3 * HEAD
        fill_rects(painter, colours.note, x=left[long], y=top[long], width=HEAD, height=thick[long])

    def _pedal(
        self, painter: QPainter, rect: QRectF, band: float, fine: float, span: Span, colours: Colours
    ) -> None:
        """Draw a band for as long as the pedal is down, with a higher edge where it goes down."""
        first = int(np.searchsorted(self._lift, span.time_at(rect.left())))
        last = int(np.searchsorted(self._down, span.time_at(rect.right())))
        if first >= last:
            return
        scale = span.seconds_per_pixel
        left, right = (
            np.clip(
                np.rint((times[first:last] - span.start) / scale * fine) / fine, rect.left() - 8, rect.right() + 8
            )
            for times in (self._down, self._lift)
        )
        thick = max(round(0.5 * band * fine), 1) / fine
        width = np.maximum(right - left - 1 / fine, 1 / fine)
        fill_rects(painter, colours.pedal, x=left, y=rect.bottom() - thick, width=width, height=thick)
        fill_rects(painter, colours.pedal, x=left, y=rect.bottom() - band, width=1.0, height=band)


def _weights(velocity: NDArray[np.int64]) -> Floats:
    """Velocities from 0 to 1, spread over what the take makes use of."""
    if not len(velocity):
        return np.zeros(0)
    low, high = np.percentile(velocity, [2, 98])
    # A take played evenly is not to look as if it were not.
    spare = max(40.0 - (high - low), 0.0) / 2
    return np.asarray(np.clip((velocity - low + spare) / (high - low + 2 * spare), 0.0, 1.0))


def _pedalled(take: MidiTake) -> tuple[Floats, Floats]:
    """Times from which to which a pedal of any channel is down."""
    down, lift = take.pedal()
    times = np.concatenate([down, lift])
    steps = np.concatenate([np.ones(len(down)), -np.ones(len(lift))])
    order = np.lexsort((-steps, times))
    times, held = times[order], np.cumsum(steps[order])
    before = np.concatenate([[0.0], held[:-1]])
    begins, ends = times[(held > 0) & (before == 0)], times[(held == 0) & (before > 0)]
    return begins, ends if len(ends) == len(begins) else np.append(ends, take.duration)


def _loudest_of_each_pixel(
    left: Floats, tiny: NDArray[np.bool_], pitch: NDArray[np.int64], weight: Floats
) -> NDArray[np.intp]:
    """Choose the notes that can be seen: of the tiny ones that begin at one pixel, the loudest of each pitch."""
    if not tiny.any():
        return np.arange(len(left))
    small = np.flatnonzero(tiny)
    cell = ((left[small] - left.min()) * 128 + pitch[small]).astype(np.int64)
    loudest = np.full(int(cell.max()) + 1, -1.0)
    np.maximum.at(loudest, cell, weight[small])
    # Of equals, the last one put there stays.
    winner = np.full(len(loudest), -1)
    best = weight[small] >= loudest[cell]
    winner[cell[best]] = small[best]
    seen = ~tiny
    seen[winner[winner >= 0]] = True
    return np.flatnonzero(seen)


def _mixed(one: QColor, other: QColor, share: float) -> QColor:
    first, second = ((colour.redF(), colour.greenF(), colour.blueF()) for colour in (one, other))
    return QColor.fromRgbF(*(a + (b - a) * share for a, b in zip(first, second, strict=True)))


def _small(font: QFont) -> QFont:
    small = QFont(font)
    small.setPixelSize(10)
    return small
