"""The rows of the bar stack on screen: which of them, how high, and what is painted there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRect, Qt
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QFocusEvent,
    QHelpEvent,
    QHideEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from app.colours import colours_for
from app.span import Span
from app.stack.grip import Grip
from app.stack.layout import HEADING, SHORTEST, TALLEST, TITLES, Layout, Target, pick
from app.stack.picture import paint_stack, paint_words
from app.stack.playhead import playhead_rect
from app.stack.scene import Stack, stack_of
from app.stack.words import row_words
from app.state import Place, State
from app.timeline.patience import Patience
from app.workspace import Workspace

ROW = 22.0
"""Pixels of a row at first."""

STEP = 1.2
"""How much higher rows get with one step."""

NO_TAKE = "Open a take, and its bars stand here one below the other."
NO_BARS = "The take is being listened to. Its bars stand here, one below the other, as soon as they are suggested."


class RowsView(QAbstractScrollArea):
    """Shows the bars of the workspace as rows; only those on screen are painted."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._row_height = ROW
        self._stack: Stack | None = None  # as the grid is
        self._shown: Stack | None = None  # as it would be with the line in the hand
        self._bar: int | None = None  # the one that keys act on
        self._anchor: int | None = None  # where a range began
        self._grip: Grip | None = None
        self._hover: tuple[int, Place] | None = None
        self._stale = False
        self._playhead: QRect | None = None
        self._playing: float | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumSize(360, 160)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._patience = Patience(self)
        self._patience.lost.connect(self.viewport().update)
        workspace.changed.connect(self._on_changed)
        workspace.selected.connect(self._on_selected)
        span.changed.connect(self._on_span)
        self._make()

    @property
    def bar(self) -> int | None:
        """The bar that keys act on."""
        return self._bar

    @property
    def layout_of_rows(self) -> Layout | None:
        """Where rows lie; None while there is no bar."""
        return None if self._stack is None else self._stack.layout

    def set_playhead(self, seconds: float | None) -> None:
        """Show where the take is being played."""
        self._playing = seconds
        before, self._playhead = self._playhead, None
        if seconds is not None and self._stack is not None and self.isVisible():
            self._playhead = playhead_rect(self._stack, seconds, float(self.verticalScrollBar().value()))
        if before != self._playhead:
            for rect in (before, self._playhead):
                if rect is not None:
                    self.viewport().update(rect)

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
        """Work out the rows of another grid; those nobody sees can wait."""
        self._stale = not self.isVisible()
        if self._stale:
            return
        state = self._workspace.state
        self._stack = stack_of(state, width=self.viewport().width(), row_height=self._row_height)
        if self._stack is None:
            self._lay_out()
            return
        bars = self._stack.rows.bar
        first, last = int(bars[0]), int(bars[-1])
        if self._bar is None or not first <= self._bar <= last:
            self._bar = self._anchor = first if self._bar is None else min(max(self._bar, first), last)
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
        document = self._workspace.state.document
        self._shown = self._stack
        if self._stack is not None and self._grip is not None and document is not None:
            self._shown = self._grip.preview(self._stack, document)
        self.viewport().update()

    def _on_changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._bar = self._anchor = self._hover = None
            self.verticalScrollBar().setValue(0)
        self._patience.follow(new.pending)
        self._make()
        self._say_bar()

    def _on_selected(self, selection: frozenset[Place]) -> None:
        bars = {bar for bar, _ in selection}
        if bars and self._bar not in bars:
            self._bar = self._anchor = min(bars)
            self._stale |= not self.isVisible()
            if self._grip is None and not self._stale:
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
        if self._stale:
            return
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
        if self._shown is None:
            words = NO_TAKE if self._workspace.state.take is None else NO_BARS
            paint_words(painter, viewport.rect(), colours, words)
        else:
            stack = replace(
                self._shown,
                selection=self._workspace.selection,
                hover=self._hover,
                on_timeline=(self._span.start, self._span.end),
                pending=self._patience.outdated,
            )
            paint_stack(
                painter,
                viewport.rect(),
                stack,
                colours,
                scroll=float(self.verticalScrollBar().value()),
                grip=self._grip,
                focus=self._bar if self.hasFocus() else None,
            )
            if self._playing is not None:
                self._playhead = playhead_rect(stack, self._playing, float(self.verticalScrollBar().value()))
                if self._playhead is not None:
                    painter.fillRect(self._playhead, colours.playhead)
        painter.end()

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what has changed meanwhile."""
        super().showEvent(event)
        self._patience.follow(self._workspace.state.pending)
        if self._stale:
            self._make()
            self._reveal()
            self._say_bar()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stretch the bars anew."""
        super().resizeEvent(event)
        self._lay_out()

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave no timer behind."""
        self._patience.rest()
        super().hideEvent(event)

    def x_of(self, phase: float) -> float:
        """Pixels from the left edge of the viewport at which a phase lies."""
        return 0.0 if self._stack is None else float(self._stack.layout.x_of(np.array(phase)))

    def y_of(self, bar: int) -> float:
        """Pixels from the top of the viewport to the middle of a bar's row, be it on screen or not."""
        row = None if self._stack is None else self._stack.rows.row_of(bar)
        if self._stack is None or row is None:
            return 0.0
        layout = self._stack.layout
        return TITLES + float(layout.tops[row]) + layout.row_height / 2 - self.verticalScrollBar().value()

    def pick(self, position: QPointF) -> Target | None:
        """Say what lies under a place in the viewport."""
        stack = self._stack
        if stack is None or position.y() < TITLES:
            return None
        y = position.y() - TITLES + self.verticalScrollBar().value()
        return pick(position.x(), y, rows=stack.rows, grid=stack.grid, layout=stack.layout)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with Ctrl, make rows higher or lower at the pointer."""
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().wheelEvent(event)
            return
        at = max(event.position().y() - TITLES, 0.0)
        self.set_row_height(self._row_height * STEP ** (event.angleDelta().y() / 120), at=at)
        event.accept()

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

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Mark the bar that keys act on."""
        self.viewport().update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Its mark goes."""
        self.viewport().update()
        super().focusOutEvent(event)
