"""The whole take in a strip, and in a frame the part of it that the lanes show."""

from __future__ import annotations

from typing import Literal

import numpy as np
from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.colours import Colours, colours_for
from app.sections.looks import tint
from app.span import SHORTEST, Span
from app.state import State
from app.timeline.heads import diamond, polygon
from app.timeline.lines import CLOSEST_BARS, Lines, lines_of, step_for
from app.timeline.notes_picture import NotesPicture
from app.timeline.rects import fill_rects
from app.timeline.section_blocks import blocks
from app.timeline.wave_picture import WavePicture
from app.timeline.wheel import wheel
from app.workspace import Workspace
from core.checks import Floats
from core.document import Document

HEIGHT = 66

EDGE = 10
"""Pixels above the picture for what is placed, and below it for what is doubtful."""

CLOSEST_MARKS = 7.0
"""Pixels from mark to mark of one kind at least."""

GRAB = 6.0
"""Pixels to both sides of an edge of the frame within which it can be dragged."""

HOLD = 8.0
"""Pixels of the frame that can be dragged at least, however narrow it is."""

KEY_SCROLL = 0.1
"""Part of what is on screen that one key press scrolls by."""

KEY_ZOOM = 1.25

Part = Literal["left", "right", "inside", "outside"]


def part_at(x: float, left: float, right: float) -> Part:
    """Say which part of a frame from pixel to pixel is meant by a press."""
    spare = max(HOLD - (right - left), 0.0) / 2
    low, high = left - spare, right + spare
    inner = min(GRAB, (high - low - HOLD) / 2)
    if low + inner <= x <= high - inner:
        return "inside"
    if low - GRAB <= x < low + inner:
        return "left"
    if high - inner < x <= high + GRAB:
        return "right"
    return "outside"


class Overview(QWidget):
    """Drag the frame to scroll, its edges to zoom; click beside it to go there. The arrow keys do the same."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._whole = Span(self)
        self._picture: WavePicture | NotesPicture | None = None
        self._key: tuple[object, ...] = ()
        self._image = QPixmap()
        # What is in the hand, and how far from the frame's start it was taken, in seconds.
        self._held: tuple[Part, float] | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Overview of the whole take")
        self.setAccessibleDescription("Left and Right scroll, Up and Down zoom, Home and End go to the ends.")
        workspace.changed.connect(self._on_changed)
        span.changed.connect(self._on_span)

    def sizeHint(self) -> QSize:
        """A strip."""
        return QSize(400, HEIGHT)

    def set_picture(self, picture: WavePicture | NotesPicture | None) -> None:
        """Show notes, a waveform, or nothing."""
        self._picture = picture
        self.update()

    def _on_changed(self, old: State, new: State) -> None:
        self.update()

    def _on_span(self) -> None:
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Take the colours of another palette."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    # What the hand does

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the frame or one of its edges; beside it, bring the frame there first."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        x = event.position().x()
        part = part_at(x, *self._frame())
        if part == "outside":
            self._span.centre(self._time_at(x))
            part = "inside"
        self._held = part, self._time_at(x) - (self._span.end if part == "right" else self._span.start)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag what is in the hand; else show by the pointer what can be taken."""
        x = event.position().x()
        if self._held is None:
            self.setCursor(_CURSORS[part_at(x, *self._frame())])
            return
        part, offset = self._held
        span, time = self._span, self._time_at(x) - offset
        # An edge that is dragged leaves the other where it is.
        if part == "left":
            span.show(min(max(time, 0.0), span.end - SHORTEST), span.end)
        elif part == "right":
            span.show(span.start, max(min(time, span.duration), span.start + SHORTEST))
        else:
            length = span.end - span.start
            span.show(time, time + length)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._held = None

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the moment under the pointer, as far as it is on screen, or scroll."""
        x = self._span.x_of(self._time_at(event.position().x()))
        wheel(event, self._span, x=min(max(x, 0.0), float(self._span.width)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Scroll and zoom."""
        span = self._span
        match event.key():
            case Qt.Key.Key_Left:
                span.scroll(-KEY_SCROLL * span.width)
            case Qt.Key.Key_Right:
                span.scroll(KEY_SCROLL * span.width)
            case Qt.Key.Key_PageUp:
                span.scroll(-span.width)
            case Qt.Key.Key_PageDown:
                span.scroll(span.width)
            case Qt.Key.Key_Up:
                span.zoom(KEY_ZOOM, span.width / 2)
            case Qt.Key.Key_Down:
                span.zoom(1 / KEY_ZOOM, span.width / 2)
            case Qt.Key.Key_Home:
                span.scroll(-span.duration / span.seconds_per_pixel)
            case Qt.Key.Key_End:
                span.scroll(span.duration / span.seconds_per_pixel)
            case _:
                super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys go."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that they go elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def _time_at(self, x: float) -> float:
        return x / max(self.width(), 1) * self._span.duration

    def _frame(self) -> tuple[float, float]:
        """Pixels from which to which the part on screen reaches."""
        scale = self.width() / self._span.duration
        return self._span.start * scale, self._span.end * scale

    # What it looks like

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the take, which is kept as an image, and the frame."""
        painter, colours = QPainter(self), colours_for(self.palette())
        if self._workspace.state.take is None:
            painter.fillRect(self.rect(), colours.ground)
        else:
            painter.drawPixmap(0, 0, self._take(colours))
            self._paint_frame(painter, colours)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            ring = QPen(colours.text, 2)
            ring.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(ring)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _take(self, colours: Colours) -> QPixmap:
        state, ratio = self._workspace.state, self.devicePixelRatioF()
        lines = None if state.grid is None or not len(state.grid.beats) else lines_of(state.grid)
        sections = None if state.document is None else state.document.sections
        key = (self.size(), ratio, colours, self._picture, lines, sections, self._span.duration)
        if key != self._key:
            self._key = key
            self._whole.set_duration(self._span.duration)
            self._whole.set_width(self.width())
            self._image = QPixmap(self.size() * ratio)
            self._image.setDevicePixelRatio(ratio)
            self._image.fill(colours.ground)
            painter = QPainter(self._image)
            self._paint_take(painter, colours, lines, state.document)
            painter.end()
        return self._image

    def _paint_take(
        self, painter: QPainter, colours: Colours, lines: Lines | None, document: Document | None
    ) -> None:
        music = QRectF(0, EDGE, self.width(), self.height() - 2 * EDGE)
        painter.fillRect(music, colours.lane)
        if lines is not None and document is not None:
            for block in blocks(document.sections, lines):
                left, right = self._whole.x_of(block.start), self._whole.x_of(block.end)
                fill = tint(block.look, colours)
                fill_rects(painter, fill, x=left, y=music.top(), width=right - left, height=music.height())
        if self._picture is not None:
            self._picture.paint(painter, music.adjusted(0, 1, 0, -1), self._whole, colours)
        if lines is not None:
            self._marks(painter, colours, lines)

    def _marks(self, painter: QPainter, colours: Colours, lines: Lines) -> None:
        """Ticks at bar lines, filled triangles above for placed ones, diamonds below for doubtful ones."""
        step = step_for(lines, self._whole, CLOSEST_BARS)
        x = self._whole.width * lines.bar_time / self._whole.duration
        ticks = np.rint(x[(lines.bar_number - 1) % step == 0])
        fill_rects(painter, colours.suggested, x=ticks, y=EDGE - 3, width=1, height=3)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.placed)
        for at in _apart(x[lines.placed[lines.bars]]):
            painter.drawPolygon(polygon((at - 4, 1), (at + 4, 1), (at, EDGE - 1)))
        painter.setPen(QPen(colours.doubtful, 1.3))
        painter.setBrush(colours.ground)
        for at in _apart(x[lines.doubtful[lines.bars]]):
            painter.drawPolygon(diamond(at, self.height() - 0.5 * EDGE, 3.5))

    def _paint_frame(self, painter: QPainter, colours: Colours) -> None:
        left, right = (round(x) for x in self._frame())
        right = max(right, left + 3)
        height = self.height()
        veil = QColor(colours.ground)
        veil.setAlpha(150)
        beside = np.array([[0, left], [right, self.width() - right]])
        fill_rects(painter, veil, x=beside[:, 0], y=EDGE, width=beside[:, 1], height=height - 2 * EDGE)
        low = height - EDGE - 1
        fill_rects(painter, colours.text, x=left, y=[EDGE, low], width=right - left, height=1)
        fill_rects(painter, colours.text, x=[left, right - 2], y=EDGE, width=2, height=height - 2 * EDGE)
        if right - left >= 4 * GRAB:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colours.text)
            for x in (left, right):
                painter.drawRoundedRect(QRectF(x - 3, height / 2 - 9, 6, 18), 3, 3)


_CURSORS: dict[Part, Qt.CursorShape] = {
    "left": Qt.CursorShape.SizeHorCursor,
    "right": Qt.CursorShape.SizeHorCursor,
    "inside": Qt.CursorShape.OpenHandCursor,
    "outside": Qt.CursorShape.PointingHandCursor,
}


def _apart(x: Floats) -> list[float]:
    """Leave out places that are too close to the one before."""
    kept: list[float] = []
    for at in x.tolist():
        if not kept or at - kept[-1] >= CLOSEST_MARKS:
            kept.append(at)
    return kept
