"""The lane with the tempo of every bar, and over it the tempi that will be handed over."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.colours import Colours, colours_for
from app.span import Span
from app.state import State
from app.timeline.heads import paint_label
from app.timeline.lines import Lines, lines_of
from app.timeline.selecting import Step, stepped
from app.timeline.tempo_picture import Rows, paint_bodies, paint_curve, paint_tops
from app.timeline.tempo_scale import TempoScale, scale_for
from app.timeline.wheel import wheel
from app.timeline.words import tempo_unit
from app.workspace import Workspace
from core.fit import Fit

PADDING = 8
"""Pixels kept free above and below the scale."""

KEYS: dict[int, Step] = {
    Qt.Key.Key_Left: "before",
    Qt.Key.Key_Right: "after",
    Qt.Key.Key_Home: "first",
    Qt.Key.Key_End: "last",
}


class TempoLane(QWidget):
    """Shows how fast each bar goes: filled dots where its bar line is placed, open ones where it is suggested.

    A click goes to a bar, and so do Left and Right, Home and End.
    """

    went_to = Signal(int)
    """A bar was chosen."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._fit: Fit | None = None
        self._hover: int | None = None  # position of a bar line in `Lines.bars`
        self._scale: tuple[Lines | None, int, TempoScale | None] = (None, 0, None)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumHeight(48)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Tempo")
        workspace.changed.connect(self._on_changed)
        workspace.selected.connect(self._on_selected)
        span.changed.connect(self.update)

    def set_fit(self, fit: Fit | None) -> None:
        """Draw the tempo map that will be handed over, or none."""
        self._fit = fit
        self.update()

    def sizeHint(self) -> QSize:
        """Room for four marks."""
        return QSize(400, 110)

    @property
    def _lines(self) -> Lines | None:
        grid = self._workspace.state.grid
        lines = None if grid is None else lines_of(grid)
        return lines if lines is not None and len(lines.tempo) else None

    def scale(self) -> TempoScale | None:
        """What the lane is scaled to; None where no bar has a tempo."""
        lines = self._lines
        room = max((self.height() - 2 * PADDING) // 22, 1)
        if self._scale[:2] != (lines, room):
            self._scale = (lines, room, None if lines is None else scale_for(lines.tempo, most_marks=room))
        return self._scale[2]

    def _on_changed(self, old: State, new: State) -> None:
        if new.grid is not old.grid:
            self._hover = None
            lines = self._lines
            words = "" if lines is None else f"{np.median(lines.tempo):.0f} {tempo_unit(lines)} in the middle"
            self.setAccessibleDescription(words)
        self.update()

    def _on_selected(self, _: object) -> None:
        self.update()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint scale, bars and curve."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.fillRect(event.rect(), colours.lane)
        font = QFont(self.font())
        font.setPixelSize(11)
        painter.setFont(font)
        lines, scale = self._lines, self.scale()
        if lines is not None and scale is not None:
            rows = Rows(scale, PADDING, self.height() - PADDING - 1, self.height())
            selected = [bar for bar, _ in self._workspace.selection]
            paint_bodies(painter, rows, lines, self._span, colours, selected=selected)
            self._paint_marks(painter, scale, colours)
            paint_tops(painter, rows, lines, self._span, colours)
            if self._fit is not None:
                paint_curve(painter, rows, self._fit, lines, self._span, colours)
            self._paint_axis(painter, lines, scale, colours)
            self._paint_hover(painter, lines, scale, colours)
        if self.hasFocus():
            painter.setPen(QPen(colours.faint, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _y(self, scale: TempoScale, tempo: float) -> int:
        return round(scale.y_of(tempo, PADDING, self.height() - PADDING - 1))

    def _paint_marks(self, painter: QPainter, scale: TempoScale, colours: Colours) -> None:
        painter.setPen(
            QPen(colours.lane_odd.darker(104) if not colours.dark else colours.lane_odd.lighter(120), 1)
        )
        for mark in scale.marks:
            y = self._y(scale, mark)
            painter.drawLine(0, y, self.width(), y)

    def _paint_axis(self, painter: QPainter, lines: Lines, scale: TempoScale, colours: Colours) -> None:
        """Numbers at the left, on a ground that keeps them readable over the bars."""
        metrics = painter.fontMetrics()
        texts = [f"{mark:g}" for mark in scale.marks]
        wide = max(metrics.horizontalAdvance(text) for text in texts) + 10
        ground = QColor(colours.lane)
        ground.setAlpha(215)
        painter.fillRect(0, 0, wide, self.height(), ground)
        painter.setPen(colours.faint)
        for mark, text in zip(scale.marks, texts, strict=True):
            tall = metrics.height()
            top = min(max(self._y(scale, mark) - tall // 2, 0), self.height() - tall)
            painter.drawText(QRect(0, top, wide - 5, tall), Qt.AlignmentFlag.AlignRight, text)
        unit = tempo_unit(lines)
        box = QRect(wide, 1, metrics.horizontalAdvance(unit) + 8, metrics.height())
        painter.fillRect(box, ground)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, unit)

    def _paint_hover(self, painter: QPainter, lines: Lines, scale: TempoScale, colours: Colours) -> None:
        if self._hover is None or self._hover >= len(lines.tempo):
            return
        number, tempo = int(lines.bar_number[self._hover]), float(lines.tempo[self._hover])
        words = f"Bar {number}: {tempo:.1f} {tempo_unit(lines)}"
        left, right = (self._span.x_of(float(time)) for time in lines.bar_time[self._hover : self._hover + 2])
        y = self._y(scale, tempo)
        painter.fillRect(round(left), y - 1, max(round(right - left), 2), 3, colours.text)
        metrics = painter.fontMetrics()
        box = QRect(0, 0, metrics.horizontalAdvance(words) + 14, metrics.height() + 6)
        box.moveCenter(QPoint(round((left + right) / 2), 0))
        box.moveLeft(min(max(box.left(), 4), self.width() - box.width() - 4))
        box.moveTop(y - box.height() - 8 if y > self.height() / 2 else y + 10)
        paint_label(painter, box, words, colours)

    # Pointer

    def _bar_at(self, x: float) -> int | None:
        lines = self._lines
        return None if lines is None else lines.bar_at(self._span.time_at(x))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Say the tempo of the bar under the pointer."""
        bar = self._bar_at(event.position().x())
        if bar != self._hover:
            self._hover = bar
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Go to the bar."""
        bar, lines = self._bar_at(event.position().x()), self._lines
        if event.button() == Qt.MouseButton.LeftButton and bar is not None and lines is not None:
            self._go_to(int(lines.bar_number[bar]))

    def _go_to(self, number: int) -> None:
        self._workspace.select({(number, 1)})
        self.went_to.emit(number)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the bar before or after, the first or the last."""
        step, lines = KEYS.get(event.key()), self._lines
        if step is None or lines is None or event.modifiers():
            super().keyPressEvent(event)
            return
        at = min(self._workspace.selection, default=None)
        place = stepped(lines, at, step, start=self._span.start)
        if place is not None:
            self._go_to(place[0])

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        self._hover = None
        self.update()
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom or scroll."""
        wheel(event, self._span)
