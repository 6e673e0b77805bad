"""The part of the side panel that tells what is heard: pauses on one leaf, passages on the other."""

from __future__ import annotations

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QTabWidget, QWidget

from app.cutting.hand import Cutting
from app.cutting.passage_list import PassageList
from app.cutting.pause_list import PauseList
from app.state import State
from core.arrangement import AS_PLAYED
from core.errors import InputError


class CuttingPanel(QTabWidget):
    """Keeps both lists in step with the work.

    Parameters
    ----------
    cutting : Cutting
        Does what is asked for.
    """

    went_to = Signal(float)
    """A moment of the recording is to be shown, in seconds."""

    def __init__(self, cutting: Cutting, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cutting = cutting
        self.pauses, self.passages = PauseList(), PassageList()
        self.setDocumentMode(True)
        self.addTab(self.pauses, "Pauses")
        self.addTab(self.passages, "Passages")
        self.setTabToolTip(0, "Where the playing stops to think, and what each stop would save")
        self.setTabToolTip(1, "What is heard of the take, in its order")
        self.pauses.tighten_wanted.connect(self._tighten)
        self.pauses.loosen_wanted.connect(self._loosen)
        self.passages.move_wanted.connect(cutting.move_passage)
        self.pauses.went_to.connect(self.went_to)
        self.passages.went_to.connect(self.went_to)

    def show_state(self, state: State) -> None:
        """Show a state."""
        arrangement = AS_PLAYED if state.document is None else state.document.arrangement
        self.pauses.show_pauses(self._cutting.pauses, arrangement)
        if state.take is None or state.document is None:
            self.passages.show_passages((), 0.0, 0.0)
            return
        duration = state.take.duration
        try:
            total = arrangement.heard(duration).duration
        except InputError:
            total = 0.0
        self.passages.show_passages(arrangement.blocks(duration), total, duration)

    def stop(self) -> None:
        """Leave no timer behind."""
        self.passages.stop()

    @Slot(object, float)
    def _tighten(self, pauses: object, share: float) -> None:
        self._cutting.tighten(pauses, share)  # type: ignore[arg-type]

    @Slot(object)
    def _loosen(self, pauses: object) -> None:
        self._cutting.loosen(pauses)  # type: ignore[arg-type]
