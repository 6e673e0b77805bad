"""Every bar as one row, all stretched to one width: where bars are right, beats stand in columns."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QHideEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from app.span import Span
from app.stack.grip import Grip
from app.stack.layout import TITLES, Target
from app.stack.scene import Stack
from app.stack.view import STEP, RowsView
from app.state import Place, State
from app.timeline import selecting
from app.timeline.lines import lines_of
from app.timeline.picking import Beat, Empty, Line
from app.workspace import Workspace
from core import gestures

SLACK = 3
"""Pixels the pointer may wander in a click."""

_CTRL, _SHIFT, _ALT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
_HIGHER, _LOWER = (Qt.Key.Key_Plus, Qt.Key.Key_Equal), (Qt.Key.Key_Minus,)
_GO = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_MOVES = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
)
_STEPS: dict[int, selecting.Step] = {Qt.Key.Key_Left: "beat before", Qt.Key.Key_Right: "beat after"}


class BarStack(RowsView):
    """Rows of bars, to be looked at, gone through and put right.

    Up and Down go from bar to bar, Page Up and Page Down a screen, Home and End to the first and last, each with
    Shift more and more of them; Left and Right go from beat to beat. What is chosen here is shown by the timeline
    too. Enter, a double click on a row or a click on its number go there. Plus and Minus, or Ctrl and the wheel,
    make rows higher and lower. Bar lines and beats are dragged in their rows as on the timeline; Escape lets go of
    one where it was.
    """

    went_to = Signal(int)
    """A bar is to be shown on the timeline; it is selected already."""

    menu_wanted = Signal(object, object)
    """A context menu is asked for: a target of `app.timeline.picking`, and the place on the screen (QPoint)."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(workspace, span, parent)
        self._press: tuple[QPointF, Target] | None = None
        self._snapping = True
        self.setAccessibleName("Bar stack")

    def set_snapping(self, snapping: bool) -> None:
        """Say whether lines go to onsets near by; Alt turns it round for as long as it is held."""
        self._snapping = snapping

    def _on_changed(self, old: State, new: State) -> None:
        if self._grip is not None and (
            new.take is not old.take or new.grid is None or lines_of(new.grid).index(self._grip.line.place) is None
        ):
            self._let_go()
        super()._on_changed(old, new)

    # Pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of what is under the pointer."""
        target = self.pick(event.position())
        if event.button() == Qt.MouseButton.LeftButton and target is not None:
            self._press = (event.position(), target)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the line in the hand, or show what could be taken."""
        if self._press is None:
            self._hover_over(self.pick(event.position()))
            return
        start, target = self._press
        if self._grip is None and abs(event.position().x() - start.x()) >= SLACK:
            self._begin(start, target)
        if self._grip is not None and self._stack is not None:
            snapping = self._snapping != bool(event.modifiers() & _ALT)
            self._grip = self._grip.to(self._stack, event.position().x(), snapping=snapping)
            self._preview()

    def _begin(self, start: QPointF, target: Target) -> None:
        if self._stack is not None and (grip := Grip.of(self._stack, target, start.x())) is not None:
            self._grip = grip
            self._bar = self._anchor = grip.bar
            self._workspace.select({grip.line.place})

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do what was begun: one edit, or another selection."""
        if self._press is None or event.button() != Qt.MouseButton.LeftButton:
            return
        (start, target), grip = self._press, self._grip
        self._let_go()
        if grip is None:
            self._click(target, start.x(), event.modifiers())
        elif grip.line.moved:
            self._workspace.attempt(partial(gestures.drag, place=grip.line.place, time=grip.line.time))
        self._hover_over(self.pick(event.position()))

    def _click(self, target: Target, x: float, held: Qt.KeyboardModifier) -> None:
        if self._stack is None:
            return
        bar = int(self._stack.rows.bar[target.row])
        if held & _SHIFT:
            self._go_to(bar, further=True)
        elif held & _CTRL:
            self._bar = self._anchor = bar
            self._workspace.select(self._workspace.selection ^ {target.place or self._place_of(bar)})
        else:
            self._go_to(bar, place=target.place)
            if x < self._stack.layout.left:
                self.went_to.emit(bar)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Accept the line under the pointer where it is; where there is none, go to the bar."""
        target = self.pick(event.position())
        if event.button() != Qt.MouseButton.LeftButton or self._stack is None or target is None:
            return
        if target.place is None:
            self.went_to.emit(int(self._stack.rows.bar[target.row]))
            return
        line = self._stack.lines.line(target.place)
        if line is not None and not line.placed:
            self._workspace.attempt(partial(gestures.drag, place=target.place, time=line.time))

    def _hover_over(self, target: Target | None) -> None:
        hover = None if target is None or target.place is None else (target.row, target.place)
        if hover != self._hover:
            self._hover = hover
            self.viewport().update()
            shape = Qt.CursorShape.ArrowCursor if hover is None else Qt.CursorShape.SizeHorCursor
            self.viewport().setCursor(shape)

    def _let_go(self) -> None:
        self._press = None
        if self._grip is not None:
            self._grip = None
            self._preview()
            self.viewport().update()

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        self._hover_over(None)
        super().leaveEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for a menu for the line or bar under the pointer, or for the bar that keys act on."""
        stack = self._stack
        if stack is None:
            return
        self._let_go()
        where, target = event.globalPos(), self.pick(QPointF(event.pos()))
        if event.reason() == QContextMenuEvent.Reason.Keyboard and self._bar is not None:
            row = stack.rows.row_of(self._bar)
            if row is not None:
                y = TITLES + float(stack.layout.tops[row]) - self.verticalScrollBar().value()
                where = self.viewport().mapToGlobal(QPoint(stack.layout.left, round(y + self._row_height)))
                target = Target(row, None, float(stack.rows.begin[row]))
        if target is None:
            return
        place = target.place or self._place_of(int(stack.rows.bar[target.row]))
        line = stack.lines.line(place)
        if place not in self._workspace.selection:
            self._go_to(place[0], place=place)
        if line is None:
            self.menu_wanted.emit(Empty(target.time), where)
        else:
            self.menu_wanted.emit((Line if line.beat == 1 else Beat)(place, line.time), where)

    # Going from bar to bar

    def _place_of(self, bar: int) -> Place:
        """The line that stands for a bar: its bar line, or the first beat of a pickup."""
        assert self._stack is not None
        row = self._stack.rows.row_of(bar) or 0
        beat = self._stack.grid.beats[int(self._stack.rows.line[self._stack.rows.first_line[row]])]
        return beat.bar, beat.beat

    def _go_to(self, bar: int, *, place: Place | None = None, further: bool = False) -> None:
        """Choose a bar, or one of its lines; `further` chooses all from where the range began."""
        stack = self._stack
        if stack is None:
            return
        self._bar = bar
        if further and self._anchor is not None:
            first, last = sorted((self._anchor, bar))
            self._workspace.select({self._place_of(each) for each in range(first, last + 1)})
        else:
            self._anchor = bar
            self._workspace.select({place or self._place_of(bar)})
        line = stack.lines.line(place or self._place_of(bar))
        if line is not None:
            self._span.reveal(line.time)
        self._reveal()
        self._say_bar()
        self.viewport().update()

    def _step(self, stack: Stack, bar: int, step: selecting.Step) -> None:
        """Go to the line before or after the one that is chosen."""
        at = min((place for place in self._workspace.selection if place[0] == bar), default=self._place_of(bar))
        place = selecting.stepped(stack.lines, at, step, start=0.0)
        if place is not None:
            self._go_to(place[0], place=place)

    def event(self, event: QEvent) -> bool:
        """Keep the stack's own keys from being taken for commands of the window."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            busy = event.key() == Qt.Key.Key_Escape and self._press is not None
            held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
            plain = held == Qt.KeyboardModifier.NoModifier
            moves = event.key() in (*_MOVES, *_GO, *_STEPS) if plain else held == _SHIFT and event.key() in _MOVES
            zooms = event.key() in (*_HIGHER, *_LOWER) and not held & _ALT
            if busy or moves or zooms:
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from bar to bar, make rows higher or lower, or let go of the line in the hand."""
        key, stack = event.key(), self._stack
        if key == Qt.Key.Key_Escape and self._press is not None:
            self._let_go()
        elif key in _HIGHER or key in _LOWER:
            self.set_row_height(self._row_height * (STEP if key in _HIGHER else 1 / STEP))
        elif key in _GO and self._bar is not None:
            self.went_to.emit(self._bar)
        elif key in _STEPS and stack is not None and self._bar is not None and self._press is None:
            self._step(stack, self._bar, _STEPS[key])
        elif key in _MOVES and stack is not None and self._bar is not None and self._press is None:
            page = max(int((self.viewport().height() - TITLES) / self._row_height) - 1, 1)
            by = {_MOVES[0]: -1, _MOVES[1]: 1, _MOVES[2]: -page, _MOVES[3]: page}
            first, last = int(stack.rows.bar[0]), int(stack.rows.bar[-1])
            goal = {_MOVES[4]: first, _MOVES[5]: last}.get(Qt.Key(key), self._bar + by.get(Qt.Key(key), 0))
            self._go_to(min(max(goal, first), last), further=bool(event.modifiers() & _SHIFT))
        else:
            # The base class would scroll with keys that mean something else in the window.
            event.ignore()

    def hideEvent(self, event: QHideEvent) -> None:
        """Drop what is in the hand."""
        self._let_go()
        super().hideEvent(event)
