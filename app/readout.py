"""Where the pointer is in the take, in bars and beats and in minutes and seconds."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal, Slot

from app.timeline.lines import lines_of
from app.timeline.words import moment
from app.workspace import Workspace


class Readout(QObject):
    """Puts a moment into words.

    Parameters
    ----------
    workspace : Workspace
        Knows the bars.
    """

    said = Signal(str)
    """The words; empty while the pointer is elsewhere."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace

    @Slot(object)
    def show(self, seconds: float | None) -> None:
        """Say where a moment is; None for nowhere."""
        take = self._workspace.state.take
        if seconds is None or take is None or not 0 <= seconds <= take.duration:
            self.said.emit("")
            return
        words = [moment(seconds)]
        grid = self._workspace.state.grid
        lines = None if grid is None else lines_of(grid)
        at = None if lines is None else lines.at(seconds)
        if lines is not None and at is not None:
            bar, beat = lines.place(at)
            words.insert(0, f"bar {bar} beat {beat}")
        self.said.emit(", ".join(words))
