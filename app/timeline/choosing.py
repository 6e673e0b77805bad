"""What the main lane has selected, and the keys that lead from line to line."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from app.span import Span
from app.state import Place, State
from app.timeline import selecting
from app.timeline.lines import Lines
from app.timeline.lines_view import LinesView
from app.timeline.selecting import Step
from app.workspace import Workspace

_KEYS: dict[int, Step] = {
    Qt.Key.Key_Left: "before",
    Qt.Key.Key_Right: "after",
    Qt.Key.Key_Up: "beat before",
    Qt.Key.Key_Down: "beat after",
    Qt.Key.Key_Home: "first",
    Qt.Key.Key_End: "last",
}

_WHOLE: dict[Step, Step] = {"beat before": "before", "beat after": "after"}
"""A range is one of bar lines."""

_OTHERS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier


class Choosing(LinesView):
    """Left and Right select the bar line before and after, Up and Down the beat, Home and End the first and the
    last bar line, with Shift more and more of them.
    """

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(workspace, span, parent)
        self._anchor: Place | None = None  # where a range began
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    @property
    def at(self) -> Place | None:
        """The line that keys and commands act on."""
        return self._at

    def select(self, place: Place) -> None:
        """Select one line, as a click on it does, and show it."""
        lines = self._lines
        line = None if lines is None else lines.line(place)
        if line is not None:
            self._choose(place, frozenset({place}))
            self._span.reveal(line.time)

    def _choose(self, at: Place, selection: frozenset[Place], *, anchored: bool = True) -> None:
        self._at = at
        if anchored:
            self._anchor = at
        self._workspace.select(selection)
        self._say_selection()
        self.update()

    def _choose_through(self, lines: Lines, bar: int) -> None:
        """Select all bar lines from where a range began."""
        if self._anchor is not None:
            self._choose((bar, 1), selecting.bars_through(lines, self._anchor, (bar, 1)), anchored=False)

    def _on_selected(self, selection: frozenset[Place]) -> None:
        if self._at not in selection:
            self._at = self._anchor = min(selection, default=self._at)
        super()._on_selected(selection)

    def _on_changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._at = self._anchor = None
        super()._on_changed(old, new)

    def event(self, event: QEvent) -> bool:
        """Keep the lane's own keys from being taken for commands of the window."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return super().event(event)
        if event.key() in _KEYS and not event.modifiers() & _OTHERS:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from line to line."""
        step, lines = _KEYS.get(event.key()), self._lines
        if step is None or lines is None or event.modifiers() & _OTHERS:
            super().keyPressEvent(event)
            return
        further = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier) and self._anchor is not None
        if further:
            step = _WHOLE.get(step, step)
        place = selecting.stepped(lines, self._at, step, start=self._span.start)
        line = None if place is None else lines.line(place)
        if place is None or line is None:
            return
        if further:
            self._choose_through(lines, place[0])
            self._span.reveal(line.time)
        else:
            self.select(place)
