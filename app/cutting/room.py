"""All parts of the window that have to do with what is heard, put together."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.cutting.hand import Cutting
from app.cutting.heard_page import HeardPage
from app.cutting.layer import CutLayer, stretches_of
from app.cutting.panel import CuttingPanel
from app.pointer import Pointer
from app.span import Span
from app.state import State
from app.workspace import Workspace


class CuttingRoom(QObject):
    """`hand` does the commands, `panel` has the lists, `page` shows what is heard, `layer` what is not.

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
        self.hand = Cutting(workspace, pointer, self)
        self.panel = CuttingPanel(self.hand)
        self.page = HeardPage(workspace)
        self.layer = CutLayer(lane, span)
        self.page.space.message.connect(self.said)

    def show_state(self, state: State) -> None:
        """Show a state."""
        self.panel.show_state(state)
        self.layer.show_cuts(stretches_of(state))

    def stop(self) -> None:
        """Leave no timer behind."""
        self.panel.stop()
