"""The ruler: minutes and seconds above, bars with their metre below."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.colours import Colours, colours_for
from app.span import Span
from app.state import State
from app.timeline.lines import Lines, lines_of, shown, step_for
from app.timeline.rects import fill_rects
from app.timeline.wheel import wheel
from app.workspace import Workspace
from core import units

ROW = 18
"""Pixels of each of the two rows."""

GAP = 5
"""Pixels between a tick and its text, and at least between two texts."""

CLOSEST_TICKS = 6.0
"""Pixels between two ticks at least."""

MINUTE_STEPS = (10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0)
"""Seconds between two texts that go evenly into minutes or hours; below ten the steps are 1, 2, 5."""


@dataclass(frozen=True, slots=True)
class Text:
    """A text in a row, from one pixel to another; `kept` where another has to give way to it."""

    x: int
    width: int
    words: str
    metre: str = ""
    kept: bool = False


class Ruler(QWidget):
    """Says where in the take and in the music the lanes below are."""

    clicked = Signal(float)
    """The moment that was clicked, in seconds."""

    started = Signal(float)
    """The moment that was clicked twice, in seconds: the take is to be heard from there."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._pointed = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Ruler in minutes and bars")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        workspace.changed.connect(self._on_changed)
        span.changed.connect(self._on_span)

    def sizeHint(self) -> QSize:
        """Two rows and the line below them."""
        return QSize(400, 2 * ROW + 1)

    def _on_changed(self, old: State, new: State) -> None:
        if new.grid is not old.grid or new.take is not old.take:
            self.update()

    def _on_span(self) -> None:
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Take the colours of another palette."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Say which moment was clicked."""
        if event.button() == Qt.MouseButton.LeftButton:
            time = self._span.time_at(event.position().x())
            self._pointed = min(max(time, 0.0), self._span.duration)
            self.clicked.emit(self._pointed)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Say where the take is to be heard from; where that is, the first click has shown in the middle."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.started.emit(self._pointed)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom or scroll."""
        wheel(event, self._span)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what is on screen."""
        painter, colours = QPainter(self), colours_for(self.palette())
        painter.fillRect(self.rect(), colours.ground)
        font = self.font()
        font.setPixelSize(11)
        painter.setFont(font)
        hair = 1 / self.devicePixelRatioF()
        fill_rects(painter, colours.edge, x=0, y=[ROW, 2 * ROW], width=self.width(), height=hair)
        self._times(painter, colours)
        grid = self._workspace.state.grid
        if grid is not None and len(grid.beats):
            self._bars(painter, colours, lines_of(grid))
        painter.end()

    def _times(self, painter: QPainter, colours: Colours) -> None:
        span, metrics = self._span, painter.fontMetrics()
        widest = metrics.horizontalAdvance(clock(span.duration, 0.001))
        step, parts = time_step(span.seconds_per_pixel, widest + 4 * GAP)
        first, last = math.floor(span.start / step), math.ceil(span.end / step)
        fine = np.arange(first * parts, last * parts + 1) * (step / parts)
        _ticks(painter, colours.edge, span, fine, ROW - 3, 3)
        coarse = np.arange(first, last + 1) * step
        _ticks(painter, colours.faint, span, coarse, ROW - 9, 9)
        painter.setPen(colours.faint)
        for time in coarse.tolist():
            box = QRect(round(span.x_of(time)) + GAP, 1, widest + GAP, ROW - 4)
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, clock(time, step))

    def _bars(self, painter: QPainter, colours: Colours, lines: Lines) -> None:
        span, metrics = self._span, painter.fontMetrics()
        widest = metrics.horizontalAdvance(str(int(np.abs(lines.bar).max())))
        there = shown(lines, span, around=2 * widest + 40)
        bottom = 2 * ROW
        _ticks(painter, colours.beat, span, lines.time[there.beats], bottom - 2, 2)
        _ticks(painter, colours.suggested, span, lines.time[there.bars], bottom - 4, 4)
        every = max(step_for(lines, span, widest + 3 * GAP), there.step)
        texts = list(fitting(self._texts(lines, metrics, every, widest)))
        _ticks(painter, colours.suggested, span, [span.time_at(text.x - GAP) for text in texts], bottom - 13, 13)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for text in texts:
            box = QRect(text.x, ROW + 1, text.width, ROW - 4)
            painter.setPen(colours.text)
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, text.words)
            if text.metre:
                sign = metrics.horizontalAdvance(text.metre) + 2 * GAP - 2
                box = QRect(text.x + text.width - sign, ROW + 2, sign - 1, ROW - 6)
                painter.setPen(colours.faint)
                painter.drawRect(box)
                painter.setPen(colours.text)
                painter.drawText(box.adjusted(0, 0, 1, 1), Qt.AlignmentFlag.AlignCenter, text.metre)

    def _texts(self, lines: Lines, metrics: QFontMetrics, every: int, widest: int) -> Iterable[Text]:
        """Numbers at every so many bars on screen, and at each change of metre its sign."""
        span, metre = self._span, lines.grid.metre
        number, time = lines.bar, lines.time
        opening = int(lines.bar_number[0]) if len(lines.bars) else int(number[0])
        changes = {opening, *(bar for bar, _ in metre.changes if bar > opening)}
        around = (2 * widest + 40) * span.seconds_per_pixel
        low, high = np.searchsorted(time, (span.start - around, span.end))
        for i in range(int(low), int(high)):
            bar = int(number[i])
            opens = lines.beat[i] == 1 or i == 0
            if not opens or ((bar - 1) % every and bar not in changes):
                continue
            sign = str(metre.at(bar)) if bar in changes else ""
            width = metrics.horizontalAdvance(str(bar))
            if sign:
                width += metrics.horizontalAdvance(sign) + 3 * GAP - 2
            yield Text(round(span.x_of(float(time[i]))) + GAP, width, str(bar), sign, bool(sign))


def _ticks(painter: QPainter, colour: QColor, span: Span, times: ArrayLike, y: int, height: int) -> None:
    x = np.rint((np.asarray(times, dtype=np.float64) - span.start) / span.seconds_per_pixel)
    fill_rects(painter, colour, x=x, y=y, width=1, height=height)


def fitting(texts: Iterable[Text]) -> Iterable[Text]:
    """Leave out texts that would touch another; those to be kept go first, then from left to right."""
    taken: list[Text] = []
    for text in sorted(texts, key=lambda text: (not text.kept, text.x)):
        if all(text.x + text.width + GAP <= other.x or other.x + other.width + GAP <= text.x for other in taken):
            taken.append(text)
            yield text


def time_step(seconds_per_pixel: float, pixels: float) -> tuple[float, int]:
    """Choose how far apart times with a text are, and into how many parts ticks divide the stretch between.

    Parameters
    ----------
    seconds_per_pixel : float
    pixels : float
        Room that a text takes.

    Returns
    -------
    step : float
        Seconds.
    parts : int
    """
    least = seconds_per_pixel * pixels
    if least > 5.0:
        step = next((step for step in MINUTE_STEPS if step >= least), MINUTE_STEPS[-1])
    else:
        power = 10.0 ** math.floor(math.log10(least))
        step = next(power * digit for digit in (1, 2, 5, 10) if power * digit >= least * (1 - 1e-9))
    choices = (10, 5, 2) if step not in (20.0, 30.0, 60.0, 120.0, 1800.0, 3600.0) else (6, 4, 3, 2)
    parts = next((parts for parts in choices if step / parts / seconds_per_pixel >= CLOSEST_TICKS), 1)
    return step, parts


def clock(time: float, step: float) -> str:
    """Write minutes and seconds with as many decimals as steps of this length need."""
    return units.clock(time, max(0, -math.floor(math.log10(step) + 1e-9)))
