"""The main lane, in which bar lines are moved, placed and selected."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal, Slot
from PySide6.QtGui import QContextMenuEvent, QHideEvent, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QWidget

from app.span import Span
from app.state import State
from app.timeline import selecting
from app.timeline.choosing import Choosing
from app.timeline.drag import SNAP, LineDrag
from app.timeline.edge_scroll import EdgeScroll
from app.timeline.picking import Beat, Empty, Line, Target
from app.timeline.wheel import wheel
from app.workspace import Workspace
from core import gestures

SLACK = 3
"""Pixels the pointer may wander in a click."""

CLOSE_BY = 3.0 * SNAP
"""Pixels within which the distance of a dragged line to an onset is worth saying."""

CLOSEST_LINES = 0.01
"""Seconds a dragged line keeps from its neighbours."""

_Held = Qt.KeyboardModifier
_CTRL, _SHIFT, _ALT = _Held.ControlModifier, _Held.ShiftModifier, _Held.AltModifier


class Stage(Choosing):
    """Turns what the hand does into selections and edits, and asks the workspace for them.

    A line is dragged; it snaps to onsets, or with Alt it does not, and Escape leaves it where it was. A double
    click places a line, or accepts the one that is there. A click selects, with Ctrl one more, with Shift all up
    to it; with Shift a drag beside the lines selects what it passes, and without it scrolls.
    """

    pointed = Signal(float)
    """A moment was clicked where no line is, seconds."""

    menu_wanted = Signal(object, object)
    """A context menu is asked for: `picking.Target`, and the place on the screen (QPoint)."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(workspace, span, parent)
        self._press: tuple[float, Target] | None = None  # pixel, and what was there
        self._grip = 0.0  # seconds from the pointer to the line it has taken
        self._scroll: float | None = None  # pixel the hand was at
        self._snapping = True
        self._hand: tuple[float, _Held] = (0.0, _Held.NoModifier)
        self._edge = EdgeScroll(span, self)
        self._edge.scrolled.connect(self._carry)
        self.setMouseTracking(True)

    @property
    def busy(self) -> bool:
        """Whether something is in the hand."""
        return self._press is not None

    def set_snapping(self, snapping: bool) -> None:
        """Say whether lines go to onsets near by; Alt turns it round for as long as it is held."""
        self._snapping = snapping

    def _snaps(self, held: _Held) -> bool:
        return self._snapping != bool(held & _ALT)

    def _on_changed(self, old: State, new: State) -> None:
        gone = self._drag is not None and not self._known(self._drag.place)
        if new.take is not old.take or gone:
            self._let_go()
        super()._on_changed(old, new)

    # Pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of what is under the pointer."""
        if self._workspace.state.take is None or self._press is not None:
            return
        x = event.position().x()
        if event.button() == Qt.MouseButton.LeftButton:
            self._press = (x, self.pick(event.position()))
        elif event.button() == Qt.MouseButton.MiddleButton:
            self._press, self._scroll = (x, Empty(self._span.time_at(x))), x

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move what is in the hand, or show what could be taken."""
        if self._press is None:
            self._hover_over(self.pick(event.position()))
            return
        (start, target), x = self._press, event.position().x()
        self._hand = x, event.modifiers()
        if self._scroll is not None:
            self._span.scroll(self._scroll - x)
            self._scroll = x
        elif self._drag is not None or self._band is not None:
            self._edge.hold(x, start)
            self._carry()
        elif abs(x - start) >= SLACK:
            self._begin(target, start, x, event.modifiers())

    @Slot()
    def _carry(self) -> None:
        """Take what is in the hand to where the hand is."""
        x, held = self._hand
        if self._drag is not None:
            self._set_drag(self._moved(self._drag, x, held))
            if not self._drag.low < self._span.time_at(x) + self._grip < self._drag.high:
                self._edge.stop()  # the line goes no further
        elif self._band is not None:
            self._band = (self._band[0], self._span.time_at(x))
            self.update()

    def _begin(self, target: Target, start: float, x: float, held: _Held) -> None:
        lines = self._lines
        if isinstance(target, Line | Beat) and lines is not None:
            self._choose(target.place, frozenset({target.place}))
            drag = LineDrag.of(target.place, target.time, lines.neighbours(target.place))
            self._grip = target.time - self._span.time_at(start)
            self._set_drag(self._moved(drag, x, held))
            self.update()
        elif held & _SHIFT:
            self._band = (self._span.time_at(start), self._span.time_at(x))
            self.update()
        else:
            self._scroll = x
            self._span.scroll(start - x)
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def _moved(self, drag: LineDrag, x: float, held: _Held) -> LineDrag:
        # In seconds, so that the wheel may turn while a line is in the hand.
        pointer = self._span.time_at(x) + self._grip
        return drag.to(
            pointer,
            onset=self._onset_near(pointer, CLOSE_BY),
            within=SNAP * self._span.seconds_per_pixel if self._snaps(held) else 0.0,
            least=CLOSEST_LINES,
        )

    def _onset_near(self, time: float, pixels: float) -> float | None:
        onsets = self._workspace.state.onsets
        if onsets is None:
            return None
        return gestures.nearest_onset(onsets, time, pixels * self._span.seconds_per_pixel)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do what was begun: one edit, or another selection."""
        if self._press is None or event.buttons() != Qt.MouseButton.NoButton:
            return
        (_, target), drag, band, scroll = self._press, self._drag, self._band, self._scroll
        self._let_go()
        if drag is not None and drag.moved:
            self._workspace.attempt(partial(gestures.drag, place=drag.place, time=drag.time))
        elif band is not None and self._lines is not None:
            more = self._workspace.selection if event.modifiers() & _CTRL else frozenset()
            self._workspace.select(more | selecting.bars_between(self._lines, *band))
        elif (drag, band, scroll) == (None, None, None) and event.button() == Qt.MouseButton.LeftButton:
            self._click(target, event.modifiers())
        self._hover_over(self.pick(event.position()))

    def _click(self, target: Target, held: _Held) -> None:
        lines, chosen = self._lines, self._workspace.selection
        if lines is None or not isinstance(target, Line | Beat):
            self._workspace.select(frozenset())
            self.pointed.emit(target.time)
        elif held & _SHIFT and self._anchor is not None:
            self._choose_through(lines, target.place[0])
        else:
            one = frozenset({target.place})
            self._choose(target.place, chosen ^ one if held & _CTRL else one)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Place a line here, or accept the one that is here."""
        target, lines = self.pick(event.position()), self._lines
        if event.button() != Qt.MouseButton.LeftButton or lines is None:
            return
        if isinstance(target, Line | Beat):
            line = lines.line(target.place)
            if line is not None and not line.placed:
                self._workspace.attempt(partial(gestures.drag, place=target.place, time=line.time))
            return
        onset = self._onset_near(target.time, SNAP) if self._snaps(event.modifiers()) else None
        self._workspace.attempt(partial(gestures.place_at, time=target.time if onset is None else onset))

    def _let_go(self) -> None:
        self._press = self._drag = self._band = self._scroll = None
        self._edge.stop()
        self.unsetCursor()
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom or scroll."""
        wheel(event, self._span)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for a menu for the line under the pointer, or for the one the keys act on."""
        if self._workspace.state.take is None:
            return
        self._let_go()
        target, place = self.pick(QPointF(event.pos())), event.globalPos()
        lines = self._lines
        line = None if lines is None or self._at is None else lines.line(self._at)
        if event.reason() == QContextMenuEvent.Reason.Keyboard and line is not None:
            kind = Line if line.beat == 1 else Beat
            target = kind((line.bar, line.beat), line.time)
            place = self.mapToGlobal(QPoint(round(self._span.x_of(line.time)), self.height() // 3))
        if isinstance(target, Line | Beat) and target.place not in self._workspace.selection:
            self._choose(target.place, frozenset({target.place}))
        self.menu_wanted.emit(target, place)

    # Keys

    def event(self, event: QEvent) -> bool:
        """Keep Escape from being taken for a command of the window while something is in the hand."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return super().event(event)
        if self.busy and event.key() == Qt.Key.Key_Escape:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the line in the hand where it was."""
        if event.key() == Qt.Key.Key_Escape and self.busy:
            self._let_go()
        else:
            super().keyPressEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Drop what is in the hand."""
        self._let_go()
        super().hideEvent(event)
