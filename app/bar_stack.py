"""Every bar as one row, all stretched to one width: where bars are right, beats stand in columns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from app.colours import colours_for
from app.span import Span
from app.stack.figures import paint_figures, paint_titles
from app.stack.layout import HEADING, MARGIN, SHORTEST, TALLEST, TITLES, Layout, Target, headings_of, pick
from app.stack.moving import paint_moving
from app.stack.numbers import paint_numbers
from app.stack.rows import paint_rows
from app.stack.scene import Stack
from app.stack.words import row_words
from app.state import Place, State
from app.timeline.drag import SNAP, LineDrag
from app.timeline.lines import lines_of
from app.timeline.picking import Beat, Empty, Line
from app.workspace import Workspace
from core import gestures
from core.bar_rows import attack_shares, bar_rows, low_onsets
from core.errors import BarwrightError
from core.grid import Grid

ROW = 22.0
"""Pixels of a row at first."""

STEP = 1.2
"""How much higher rows get with one step."""

SLACK = 3
"""Pixels the pointer may wander in a click."""

CLOSEST_LINES = 0.01
"""Seconds a dragged line keeps from its neighbours."""

NO_TAKE = "Open a take, and its bars stand here one below the other."
NO_BARS = "The take is being listened to. Its bars stand here, one below the other, as soon as they are suggested."

_CTRL, _SHIFT, _ALT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
_HIGHER, _LOWER = (Qt.Key.Key_Plus, Qt.Key.Key_Equal), (Qt.Key.Key_Minus,)
_MOVES = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
)


@dataclass(frozen=True, slots=True)
class _Grip:
    """A line in the hand: the row it is dragged in, which keeps its stretch meanwhile, and the way it went."""

    row_bar: int
    stretch: tuple[float, float]
    start: QPointF
    line: LineDrag


class BarStack(QAbstractScrollArea):
    """Rows of bars, to be looked at, gone through and put right.

    Up and Down go from bar to bar, Page Up and Page Down a screen, Home and End to the first and last, each with
    Shift more and more of them. Plus and Minus, or Ctrl and the wheel, make rows higher and lower. Bar lines and
    beats are dragged in their rows as on the timeline; Escape lets go of one where it was.
    """

    went_to = Signal(int)
    """A bar was chosen here."""

    menu_wanted = Signal(object, object)
    """A context menu is asked for: a target of `app.timeline.picking`, and the place on the screen (QPoint)."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._row_height = ROW
        self._stack: Stack | None = None  # as the grid is
        self._shown: Stack | None = None  # as it would be with the line in the hand
        self._bar: int | None = None  # the one that keys act on
        self._anchor: int | None = None  # where a range began
        self._press: tuple[QPointF, Target] | None = None
        self._grip: _Grip | None = None
        self._hover: tuple[int, Place] | None = None
        self._snapping = True
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumSize(360, 160)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Bar stack")
        workspace.changed.connect(self._on_changed)
        workspace.selected.connect(self._on_selected)
        span.changed.connect(self._on_span)
        self._make()

    def set_snapping(self, snapping: bool) -> None:
        """Say whether lines go to onsets near by; Alt turns it round for as long as it is held."""
        self._snapping = snapping

    # What is shown

    @property
    def bar(self) -> int | None:
        """The bar that keys act on."""
        return self._bar

    @property
    def layout_of_rows(self) -> Layout | None:
        """Where rows lie; None while there is no bar."""
        return None if self._stack is None else self._stack.layout

    def set_row_height(self, pixels: float, *, at: float | None = None) -> None:
        """Make rows higher or lower.

        Parameters
        ----------
        pixels : float
            Of a row; kept between `SHORTEST` and `TALLEST`.
        at : float, optional
            Pixels from the top of the rows on screen to what keeps its place; the bar that keys act on, where it
            is not given.
        """
        pixels = min(max(pixels, SHORTEST), TALLEST)
        stack = self._stack
        if pixels == self._row_height or stack is None:
            self._row_height = pixels
            return
        scroll = self.verticalScrollBar().value()
        if at is None:
            row = None if self._bar is None else stack.rows.row_of(self._bar)
            at = 0.0 if row is None else float(stack.layout.tops[row]) - scroll
        row = stack.layout.row_at(scroll + at) or 0
        inside = (scroll + at - float(stack.layout.tops[row])) / self._row_height
        self._row_height = pixels
        self._lay_out()
        self.verticalScrollBar().setValue(round(float(self._stack_layout.tops[row]) + inside * pixels - at))
        self.viewport().update()

    @property
    def _stack_layout(self) -> Layout:
        assert self._stack is not None
        return self._stack.layout

    def _make(self) -> None:
        """Work out the rows of another grid."""
        state = self._workspace.state
        if state.grid is None or state.onsets is None or not state.grid.beats:
            self._stack = self._shown = None
            self._lay_out()
            return
        sections = () if state.document is None else state.document.sections
        rows = bar_rows(state.grid, state.onsets, margin=MARGIN)
        names = {section.bar: section.name for section in sections}
        headings = headings_of(state.grid, rows, names)
        self._stack = Stack(
            grid=state.grid,
            rows=rows,
            lines=lines_of(state.grid),
            layout=Layout.of(headings, width=self.viewport().width(), row_height=self._row_height),
            onsets=state.onsets,
            share=attack_shares(state.onsets),
            low=low_onsets(state.onsets),
            sections={section.bar: i for i, section in enumerate(sections)},
        )
        if self._bar is None or rows.row_of(self._bar) is None:
            self._bar = self._anchor = int(rows.bar[0])
        self._lay_out()

    def _lay_out(self) -> None:
        viewport = self.viewport()
        room = max(viewport.height() - TITLES, 1)
        if self._stack is not None:
            layout = Layout.of(self._stack.layout.headings, width=viewport.width(), row_height=self._row_height)
            self._stack = replace(self._stack, layout=layout)
        self._preview()
        bar = self.verticalScrollBar()
        content = 0.0 if self._stack is None else self._stack.layout.content + 4
        bar.setRange(0, max(round(content) - room, 0))
        bar.setPageStep(room)
        bar.setSingleStep(round(self._row_height))
        viewport.update()

    def _preview(self) -> None:
        """Show the bars as they would be, were the line in the hand let go here."""
        stack, grip, document = self._stack, self._grip, self._workspace.state.document
        self._shown = stack
        if stack is None or grip is None or document is None:
            return
        grid: Grid | None = stack.grid
        if grip.line.moved:
            try:
                edit = gestures.drag(document, stack.grid, grip.line.place, grip.line.time)
            except BarwrightError:
                # The release says what is wrong with it.
                grid = None
            else:
                grid = gestures.preview(stack.grid, edit)
        if grid is not None:
            rows = bar_rows(grid, stack.onsets, margin=MARGIN, stretch={grip.row_bar: grip.stretch})
            self._shown = replace(stack, grid=grid, rows=rows, lines=lines_of(grid))

    def _on_changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._bar = self._anchor = self._hover = None
            self.verticalScrollBar().setValue(0)
            self._let_go()
        if self._grip is not None and (
            new.grid is None or lines_of(new.grid).index(self._grip.line.place) is None
        ):
            self._let_go()
        self._make()
        self._say_bar()

    def _on_selected(self, selection: frozenset[Place]) -> None:
        bars = {bar for bar, _ in selection}
        if bars and self._bar not in bars:
            self._bar = self._anchor = min(bars)
            if self._grip is None:
                self._reveal()
        self._say_bar()
        self.viewport().update()

    def _on_span(self) -> None:
        self.viewport().update(QRect(0, 0, 3, self.viewport().height()))

    def _reveal(self) -> None:
        """Scroll, no further than needed, so that the bar is on screen with the one before and after."""
        row = None if self._stack is None or self._bar is None else self._stack.rows.row_of(self._bar)
        if row is None:
            return
        bar, top = self.verticalScrollBar(), float(self._stack_layout.tops[row])
        room = self.viewport().height() - TITLES
        around = self._row_height + HEADING
        if top - around < bar.value():
            bar.setValue(int(top - around))
        elif top + self._row_height + around > bar.value() + room:
            bar.setValue(int(top + self._row_height + around - room) + 1)

    def _say_bar(self) -> None:
        words = "" if self._stack is None or self._bar is None else row_words(self._stack, self._bar)
        if words != self.accessibleDescription():
            self.setAccessibleDescription(words)
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the rows on screen."""
        viewport, colours = self.viewport(), colours_for(self.palette())
        painter = QPainter(viewport)
        painter.setClipRegion(event.region())
        painter.fillRect(viewport.rect(), colours.ground)
        stack = self._shown
        if stack is None:
            painter.setPen(colours.faint)
            words = NO_TAKE if self._workspace.state.take is None else NO_BARS
            box = viewport.rect().adjusted(24, 24, -24, -24)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, words)
            painter.end()
            return
        scroll = float(self.verticalScrollBar().value())
        first, last = stack.layout.visible(scroll, viewport.height() - TITLES)
        stack = replace(
            stack,
            selection=self._workspace.selection,
            hover=self._hover,
            on_timeline=(self._span.start, self._span.end),
            pending=self._workspace.state.pending,
        )
        high = viewport.height()
        for paint in (paint_rows, paint_numbers, paint_figures):
            paint(painter, stack, colours, scroll=scroll, top=TITLES, height=high)
        if self._grip is not None:
            grip = self._grip
            paint_moving(painter, stack, colours, grip.line, grip.row_bar, scroll=scroll, top=TITLES, height=high)
        self._paint_focus(painter, stack, scroll)
        bar = int(stack.rows.bar[first]) if first < last else 1
        paint_titles(painter, stack.layout, colours, signature=stack.grid.metre.at(bar))
        painter.end()

    def _paint_focus(self, painter: QPainter, stack: Stack, scroll: float) -> None:
        row = None if self._bar is None else stack.rows.row_of(self._bar)
        if row is None or not self.hasFocus():
            return
        top = TITLES + float(stack.layout.tops[row]) - scroll
        painter.setPen(QPen(colours_for(self.palette()).text, 2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRect(1, round(top), stack.layout.width - 2, round(self._row_height)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stretch the bars anew."""
        super().resizeEvent(event)
        self._lay_out()

    # Pointer

    def pick(self, position: QPointF) -> Target | None:
        """Say what lies under a place in the viewport."""
        stack = self._stack
        if stack is None or position.y() < TITLES:
            return None
        y = position.y() - TITLES + self.verticalScrollBar().value()
        return pick(position.x(), y, rows=stack.rows, grid=stack.grid, layout=stack.layout)

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
        if self._grip is not None:
            self._move(self._grip, event.position().x(), event.modifiers())

    def _begin(self, start: QPointF, target: Target) -> None:
        stack = self._stack
        if stack is None or target.place is None:
            return
        rows = stack.rows
        stretch = float(rows.begin[target.row]), float(rows.end[target.row])
        line = LineDrag.of(target.place, target.time, stack.lines.neighbours(target.place))
        self._grip = _Grip(int(rows.bar[target.row]), stretch, start, line)
        self._bar = self._anchor = int(rows.bar[target.row])
        self._workspace.select({target.place})

    def _move(self, grip: _Grip, x: float, held: Qt.KeyboardModifier) -> None:
        onsets = self._workspace.state.onsets
        if self._stack is None or onsets is None:
            return
        begin, end = grip.stretch
        scale = (end - begin) / self._stack.layout.bar_width
        pointer = grip.line.origin + (x - grip.start.x()) * scale
        line = grip.line.to(
            pointer,
            onset=gestures.nearest_onset(onsets, pointer, 3.0 * SNAP * scale),
            within=SNAP * scale if self._snapping != bool(held & _ALT) else 0.0,
            least=CLOSEST_LINES,
        )
        self._grip = replace(grip, line=line)
        self._preview()
        self.viewport().update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do what was begun: one edit, or another selection."""
        if self._press is None or event.button() != Qt.MouseButton.LeftButton:
            return
        (_, target), grip = self._press, self._grip
        self._let_go()
        if grip is None:
            self._click(target, event.modifiers())
        elif grip.line.moved:
            self._workspace.attempt(partial(gestures.drag, place=grip.line.place, time=grip.line.time))
        self._hover_over(self.pick(event.position()))

    def _click(self, target: Target, held: Qt.KeyboardModifier) -> None:
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

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Accept the line under the pointer where it is."""
        target = self.pick(event.position())
        if event.button() != Qt.MouseButton.LeftButton or self._stack is None or target is None:
            return
        line = None if target.place is None else self._stack.lines.line(target.place)
        if line is not None and not line.placed and target.place is not None:
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

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with Ctrl, make rows higher or lower at the pointer."""
        if not event.modifiers() & _CTRL:
            super().wheelEvent(event)
            return
        at = max(event.position().y() - TITLES, 0.0)
        self.set_row_height(self._row_height * STEP ** (event.angleDelta().y() / 120), at=at)
        event.accept()

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
        self.went_to.emit(bar)

    def event(self, event: QEvent) -> bool:
        """Keep the stack's own keys from being taken for commands of the window."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            busy = event.key() == Qt.Key.Key_Escape and self._press is not None
            held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
            moves = event.key() in _MOVES and held in (Qt.KeyboardModifier.NoModifier, _SHIFT)
            zooms = event.key() in (*_HIGHER, *_LOWER) and not held & _ALT
            if busy or moves or zooms:
                event.accept()
                return True
        return super().event(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what a row is in a tool tip."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            target = self.pick(QPointF(event.pos()))
            words = ""
            if target is not None and self._stack is not None:
                words = row_words(self._stack, int(self._stack.rows.bar[target.row]))
            QToolTip.showText(event.globalPos(), words, self)
            return True
        return super().viewportEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from bar to bar, make rows higher or lower, or let go of the line in the hand."""
        key, stack = event.key(), self._stack
        if key == Qt.Key.Key_Escape and self._press is not None:
            self._let_go()
        elif key in _HIGHER or key in _LOWER:
            self.set_row_height(self._row_height * (STEP if key in _HIGHER else 1 / STEP))
        elif key in _MOVES and stack is not None and self._bar is not None and self._press is None:
            page = max(int((self.viewport().height() - TITLES) / self._row_height) - 1, 1)
            by = {_MOVES[0]: -1, _MOVES[1]: 1, _MOVES[2]: -page, _MOVES[3]: page}
            first, last = int(stack.rows.bar[0]), int(stack.rows.bar[-1])
            goal = {_MOVES[4]: first, _MOVES[5]: last}.get(Qt.Key(key), self._bar + by.get(Qt.Key(key), 0))
            self._go_to(int(np.clip(goal, first, last)), further=bool(event.modifiers() & _SHIFT))
        else:
            # The base class would scroll with keys that mean something else in the window.
            event.ignore()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Mark the bar that keys act on."""
        self.viewport().update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Its mark goes."""
        self.viewport().update()
        super().focusOutEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Drop what is in the hand."""
        self._let_go()
        super().hideEvent(event)
