"""The page that shows the take as it is heard, after all that is taken out and moved."""

from __future__ import annotations

from typing import cast

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.cutting.heard_space import HeardSpace
from app.cutting.layer import CutLayer
from app.cutting.marks import seams
from app.sayings import clock
from app.span import Span
from app.state import State
from app.timeline.timeline import Timeline
from app.workspace import Workspace


class HeardPage(QWidget):
    """A timeline of what is heard, with a mark at each seam.

    Parameters
    ----------
    workspace : Workspace
        Owns the work.
    """

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self.space = HeardSpace(workspace, self)
        self.span = Span(self)
        self.words = QLabel()
        self.words.setContentsMargins(10, 4, 10, 4)
        # The lanes ask it for nothing but what both have.
        self.timeline = Timeline(cast(Workspace, self.space), self.span)
        self.layer = CutLayer(self.timeline.stage, self.span)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.words)
        column.addWidget(self.timeline, 1)
        self.space.changed.connect(self._on_changed)

    def showEvent(self, event: QShowEvent) -> None:
        """Work out what is heard."""
        super().showEvent(event)
        self.space.look(looking=True)
        self._say()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks."""
        self.space.look(looking=False)
        super().hideEvent(event)

    def _on_changed(self, _old: State, _new: State) -> None:
        heard = self.space.heard
        self.layer.show_cuts(seams=() if heard is None else seams(heard.passages))
        self._say()

    def _say(self) -> None:
        heard, take = self.space.heard, self._workspace.state.take
        if heard is None or take is None:
            self.words.setText("What is heard of the take appears here as soon as it has bars.")
            return
        if heard.take.duration == take.duration:
            self.words.setText("All of the take is heard as it was played.")
            return
        self.words.setText(
            f"{clock(heard.take.duration)} are heard of {clock(take.duration)} played; "
            "bars are put right in the timeline."
        )
