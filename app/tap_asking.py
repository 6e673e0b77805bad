"""What the open taps would place is asked of the worker, and asked once more if that ended over it."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal, Slot

from app.analysis import Analysis
from app.desks import Desks
from app.questions import TapsRead
from core.tap_bias import Habit

_ENDED = "The analysis ended again; your taps are all here, and the next one tries once more."


class TapAsking(QObject):
    """Asks for the lines of taps.

    Parameters
    ----------
    analysis : Analysis
        Is asked.
    desks : Desks
        What is shown now.
    """

    tapped = Signal(object)
    """`TapsRead`: the lines of the open taps, or why they could not be read."""

    def __init__(self, analysis: Analysis, desks: Desks, parent: QObject) -> None:
        super().__init__(parent)
        self._analysis, self._desks = analysis, desks
        self._habit: Habit | None = None
        self._lost_before = False
        analysis.tapped.connect(self._tapped)
        # Queued: it may die while it is being asked.
        analysis.taps_lost.connect(self._lost, Qt.ConnectionType.QueuedConnection)

    def ask(self, habit: Habit | None) -> None:
        """Ask; `tapped` answers."""
        self._habit = habit
        state = self._desks.now.state
        if state.onsets is not None and state.document is not None:
            self._analysis.read_taps(state.onsets, state.document, habit)

    @Slot(object)
    def _tapped(self, answer: TapsRead) -> None:
        self._lost_before = False
        self.tapped.emit(answer)

    @Slot()
    def _lost(self) -> None:
        document = self._desks.now.state.document
        if document is None or not any(one.open for one in document.taps):
            return
        if self._lost_before:
            self._lost_before = False
            self.tapped.emit(TapsRead(0, document, None, _ENDED))
        else:
            self._lost_before = True
            self.ask(self._habit)
