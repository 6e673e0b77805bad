"""What the main lane shows, without what can be done in it: music, onsets, bar lines and the playhead."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRect, QSize, Qt
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QFocusEvent,
    QHelpEvent,
    QHideEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.colours import colours_for
from app.span import Span
from app.state import Place, State
from app.timeline.backdrop import Backdrop, Picture, place_of
from app.timeline.bar_lines import Look, paint_bar_lines
from app.timeline.drag import LineDrag
from app.timeline.heads import reach_of
from app.timeline.in_hand import paint_in_hand
from app.timeline.lines import Lines, lines_of
from app.timeline.patience import Patience
from app.timeline.picking import Beat, Line, Target, pick
from app.timeline.words import line_words, selection_words
from app.workspace import Workspace

LABEL = 260
"""Pixels to both sides of a line in the hand within which its label lies."""


class LinesView(QWidget):
    """Paints the workspace's state; whoever derives from it sets what is emphasised and what is in the hand."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._picture: Picture | None = None
        self._playhead: float | None = None
        self._backdrop = Backdrop()
        self._at: Place | None = None  # the line that keys act on
        self._hover: Place | None = None
        self._drag: LineDrag | None = None
        self._band: tuple[float, float] | None = None  # seconds
        self._patience = Patience(self)
        self._patience.lost.connect(self.update)
        self.setMinimumHeight(120)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Bar lines")
        workspace.changed.connect(self._on_changed)
        workspace.selected.connect(self._on_selected)
        span.changed.connect(self.update)
        self._say_selection()

    def sizeHint(self) -> QSize:
        """Most of a window."""
        return QSize(800, 440)

    def set_picture(self, picture: Picture | None) -> None:
        """Show notes, a waveform, or nothing."""
        self._picture = picture
        self.update()

    def set_playhead(self, seconds: float | None) -> None:
        """Show where the take is being played; None while it is not."""
        for time in (self._playhead, seconds):
            if time is not None:
                self._update_around(time, 6)
        self._playhead = seconds

    @property
    def _lines(self) -> Lines | None:
        grid = self._workspace.state.grid
        return None if grid is None else lines_of(grid)

    def _on_changed(self, old: State, new: State) -> None:
        self._patience.follow(new.pending)
        if new.take is not old.take or (self._hover is not None and not self._known(self._hover)):
            self._hover = None
        self._say_selection()
        self.update()

    def _on_selected(self, _: frozenset[Place]) -> None:
        self._say_selection()
        self.update()

    def _known(self, place: Place) -> bool:
        lines = self._lines
        return lines is not None and lines.index(place) is not None

    def _say_selection(self) -> None:
        lines = self._lines
        words = "" if lines is None else selection_words(lines, self._workspace.selection, self._at)
        if words != self.accessibleDescription():
            self.setAccessibleDescription(words)
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))

    def _set_drag(self, drag: LineDrag) -> None:
        for each in (self._drag, drag):
            if each is not None:
                self._update_around(each.time, LABEL)
        self._drag = drag

    def _update_around(self, time: float, reach: int) -> None:
        x = self._span.x_of(time)
        if -reach <= x <= self.width() + reach:
            self.update(QRect(round(x) - reach, 0, 2 * reach + 1, self.height()))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what has changed."""
        state, span, lines = self._workspace.state, self._span, self._lines
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        image = self._backdrop.image(
            self.size(),
            self.devicePixelRatioF(),
            font=self.font(),
            span=span,
            colours=colours,
            picture=self._picture,
            lines=lines,
            onsets=state.onsets,
            document=state.document,
        )
        painter.drawPixmap(0, 0, image)
        if self._band is not None:
            left, right = sorted(round(span.x_of(time)) for time in self._band)
            painter.fillRect(left, 0, right - left, self.height(), colours.selection)
        if lines is not None:
            look = Look(
                selection=self._workspace.selection,
                hover=self._hover,
                focus=self._at if self.hasFocus() else None,
                moving=None if self._drag is None else self._drag.place,
                pending=self._patience.outdated,
            )
            paint_bar_lines(painter, self.rect(), lines, span, colours, look=look)
        if self._picture is not None:
            self._picture.name(painter, place_of(self.rect()), colours)
        if self._drag is not None:
            paint_in_hand(painter, self.rect(), self._drag, span, colours)
        if self._playhead is not None:
            x = round(span.x_of(self._playhead))
            painter.setPen(QPen(colours.playhead, 1))
            painter.drawLine(x, 0, x, self.height())
            painter.fillRect(x - 3, 0, 7, 4, colours.playhead)
        painter.end()

    def pick(self, position: QPointF) -> Target:
        """Say what lies under a place in the lane."""
        onsets = self._workspace.state.onsets
        return pick(
            position.x(),
            position.y(),
            lines=self._lines,
            onsets=None if onsets is None else onsets.time,
            span=self._span,
            height=self.height(),
        )

    def _hover_over(self, target: Target | None) -> None:
        place = target.place if isinstance(target, Line | Beat) else None
        if place != self._hover:
            lines = self._lines
            for changed in (self._hover, place):
                line = None if changed is None or lines is None else lines.line(changed)
                if line is not None:
                    self._update_around(line.time, reach_of(line.bar, self.font()))
            self._hover = place
        self.setCursor(Qt.CursorShape.ArrowCursor if place is None else Qt.CursorShape.SizeHorCursor)

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        self._hover_over(None)
        super().leaveEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Mark the line that keys act on."""
        self.update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Its mark goes."""
        self.update()
        super().focusOutEvent(event)

    def event(self, event: QEvent) -> bool:
        """Show tool tips."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            target, lines = self.pick(QPointF(event.pos())), self._lines
            words = line_words(lines, target.place) if lines and isinstance(target, Line | Beat) else ""
            QToolTip.showText(event.globalPos(), words, self)
            return True
        return super().event(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """All lanes are as wide as this one."""
        self._span.set_width(self.width())
        super().resizeEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave no timer behind."""
        self._patience.rest()
        super().hideEvent(event)
