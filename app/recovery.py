"""Offers work back that was not saved when a window ended, and tells that it did."""

from __future__ import annotations

import traceback
from datetime import datetime
from functools import partial

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QMessageBox, QWidget

from app.dialogs.question import question
from app.errands import Errands
from app.handover_page import HandoverPage
from app.journal import Journal
from app.opening import Opening
from app.recovery_jobs import Found, Looked, look
from app.recovery_offer import RecoveryOffer
from app.saving import Saving
from app.settings import Settings
from app.state import Message
from app.workspace import Workspace


class Recovery(QObject):
    """Looks once, at the start; nothing is taken back or thrown away unasked.

    Parameters
    ----------
    workspace, opening, saving, hand_over : Workspace, Opening, Saving, HandoverPage
        Whose work it is, and what goes on with it.
    settings : Settings
        Knows where journals lie.
    window : QWidget
        Over which questions appear.
    """

    def __init__(
        self,
        workspace: Workspace,
        opening: Opening,
        saving: Saving,
        hand_over: HandoverPage,
        settings: Settings,
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._workspace, self._opening, self._window = workspace, opening, window
        self._folder = settings.state_folder / "journals"
        self.offer = RecoveryOffer()
        self.journal = Journal(workspace, saving, hand_over, self._folder, window)
        self._waiting: list[Found] = []
        self._errands = Errands(self)
        self._errands.done.connect(self._looked)
        self._errands.failed.connect(self._failed)
        opening.quitting.connect(self.journal.forget)
        self.offer.taken_back.connect(self._take_back)
        self.offer.thrown_away.connect(self._ask_to_throw_away)
        self.offer.put_off.connect(self._put_off)

    @property
    def looking(self) -> bool:
        """Whether it is still being looked for work."""
        return self._errands.busy

    def look(self) -> None:
        """Look for work; returns at once."""
        self._errands.ask(partial(look, self._folder))

    def stop(self) -> None:
        """Let everything lie that was not decided on; for good, before the window goes."""
        self._errands.stop()
        for found in self._waiting:
            found.file.leave()
        self._waiting = []
        self.journal.stop()

    @Slot(object)
    def _looked(self, looked: Looked) -> None:
        self._waiting = list(looked.found)
        if looked.unreadable:
            names = "\n".join(map(str, looked.unreadable))
            sentence = "Something was kept of earlier work that cannot be read by this version; it is put aside."
            self._workspace.message.emit(Message(sentence, names, warning=True))
        self._show()
        if self._waiting and self._workspace.state.take is None:
            self.offer.back.setFocus()

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        sentence = "Something went wrong while looking for work that was not saved; all of it is still there."
        details = "".join(traceback.format_exception(error))
        self._workspace.message.emit(Message(sentence, details, warning=True))

    def _show(self) -> None:
        if self._waiting:
            self.offer.show_found(self._waiting[0], len(self._waiting), datetime.now())
        else:
            self.offer.hide()

    def _next(self) -> Found | None:
        found = self._waiting.pop(0) if self._waiting else None
        self._show()
        return found

    @Slot()
    def _take_back(self) -> None:
        if self._waiting:
            self._opening.take_back(self._waiting[0].loaded, self._taking_back)

    @Slot()
    def _taking_back(self) -> None:
        """The work before has been left: go on with that of the journal."""
        if (found := self._next()) is not None:
            self.journal.expect(found.file, found.steps, found.loaded.history)

    @Slot()
    def _put_off(self) -> None:
        if (found := self._next()) is not None:
            found.file.leave()

    @Slot()
    def _ask_to_throw_away(self) -> None:
        if not self._waiting:
            return
        found = self._waiting[0]
        steps = "1 step" if found.steps == 1 else f"{found.steps} steps"
        box = question(
            self._window,
            "Throw it away?",
            f"Throw away {steps} on {found.loaded.title}?",
            "They cannot be brought back then. What you saved yourself stays as it is.",
        )
        throw = box.addButton("Throw away", QMessageBox.ButtonRole.DestructiveRole)
        throw.clicked.connect(self._throw_away)
        stay = box.addButton("Keep it", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(stay)
        box.setEscapeButton(stay)
        box.open()

    @Slot()
    def _throw_away(self) -> None:
        if (found := self._next()) is not None:
            found.file.remove()
