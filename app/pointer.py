"""The moment a command means: under the pointer, at the selected line, or in the middle of the screen."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QWidget

from app.span import Span
from app.workspace import Workspace


class Pointer(QObject):
    """Watches the pointer over the lanes.

    Parameters
    ----------
    workspace : Workspace
        Knows what is selected.
    span : Span
        Of the lanes.
    """

    moved = Signal(object)
    """Seconds of take time under the pointer; None when it has left."""

    def __init__(self, workspace: Workspace, span: Span, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._x: float | None = None
        self.fixed: float | None = None  # seconds; where a menu was opened, until the pointer moves again

    def watch(self, lane: QWidget) -> None:
        """Watch a lane whose left edge is that of the take on screen."""
        lane.setMouseTracking(True)
        lane.installEventFilter(self)

    def eventFilter(self, _: QObject, event: QEvent) -> bool:
        """Note where the pointer is; keep nothing back."""
        if event.type() == QEvent.Type.MouseMove and isinstance(event, QMouseEvent):
            self._x, self.fixed = event.position().x(), None
            self.moved.emit(self._span.time_at(self._x))
        elif event.type() in (QEvent.Type.Leave, QEvent.Type.Hide):
            self._x = None
            self.moved.emit(None)
        return False

    def leave(self) -> None:
        """The pointer means nothing, until it moves."""
        self._x = self.fixed = None

    def time(self) -> float:
        """Seconds of take time."""
        if self.fixed is not None:
            return self.fixed
        if self._x is not None:
            return self._span.time_at(self._x)
        grid, chosen = self._workspace.state.grid, self._workspace.selection
        times = [] if grid is None else [beat.time for beat in grid.beats if (beat.bar, beat.beat) in chosen]
        return times[0] if times else 0.5 * (self._span.start + self._span.end)

    def seconds_per_pixel(self) -> float:
        """Seconds that a pixel of the lanes stands for."""
        return self._span.seconds_per_pixel
