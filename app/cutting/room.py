"""All parts of the window that have to do with what is heard, put together."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from app.cutting.hand import Cutting
from app.cutting.heard_page import HeardPage
from app.cutting.layer import CutLayer, stretches_of
from app.cutting.panel import CuttingPanel
from app.cutting.pause_layer import PauseLayer
from app.pointer import Pointer
from app.span import Span
from app.state import State
from app.workspace import Workspace
from core.arrangement import AS_PLAYED
from core.hesitations import Hesitation


class CuttingRoom(QObject):
    """`hand` does the commands, `panel` has the lists, `page` shows what is heard, `layer` what is not;
    the ends of pauses are dragged in `pauses`.

    Parameters
    ----------
    workspace : Workspace
        Owns the work.
    pointer : Pointer
        Knows the moment under the pointer.
    lane : QWidget
        Shows the take as it was played.
    span : Span
        What that shows.
    parent : QObject
    """

    said = Signal(object)
    """Message for the strip."""

    def __init__(self, workspace: Workspace, pointer: Pointer, lane: QWidget, span: Span, parent: QObject) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self.hand = Cutting(workspace, pointer, self)
        self.panel = CuttingPanel(self.hand)
        self.page = HeardPage(workspace)
        self.layer = CutLayer(lane, span)
        self.pauses = PauseLayer(lane, span)
        self.pauses.moved.connect(self._preview)
        self.pauses.dropped.connect(self._show_cuts)
        self.pauses.wanted.connect(self.hand.set_length)
        self.page.space.message.connect(self.said)

    def show_state(self, state: State) -> None:
        """Show a state."""
        self.panel.show_state(state)
        arrangement = AS_PLAYED if state.document is None else state.document.arrangement
        self.pauses.show_pauses(self.hand.pauses, arrangement)
        if not self.pauses.busy:
            self._show_cuts()

    @Slot()
    def _show_cuts(self) -> None:
        self.layer.show_cuts(stretches_of(self._workspace.state))

    @Slot(object, float)
    def _preview(self, pause: Hesitation, seconds: float) -> None:
        self.layer.show_cuts(stretches_of(self._workspace.state, self.hand.with_length(pause, seconds)))

    def stop(self) -> None:
        """Leave no timer behind."""
        self.panel.stop()
