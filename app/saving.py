"""Saves the work on a take as a project, and knows what of it is on disk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.claims import Claims
from app.errands import Errands
from app.failure import failure
from app.handover_page import HandoverPage
from app.project_jobs import Clash, Kept, Loaded, Save, Saved, save
from app.save_questions import about_newer, about_other_work, about_owner
from app.settings import Settings
from app.state import Message, State
from app.workspace import Workspace
from core.project_file import ENDING, is_project
from core.take import Take

_FAULT = "Something went wrong inside Barwright: nothing was saved, and the file is as it was."

PROJECTS = f"Projects (*{ENDING})"
_IN_USE = "{} is open in {}: here you can look and try, and save under another name."


class Saving(QObject):
    """Each `save_...` is a command of `app.actions`.

    Parameters
    ----------
    workspace : Workspace
        Whose work is saved.
    hand_over : HandoverPage
        Whose choices are saved with it.
    settings : Settings
        Remembers folders.
    window : QWidget
        Over which questions appear.
    """

    changed = Signal()
    """The name of the project, or whether there is work that is not saved."""
    written = Signal(object)
    """Path of a project that has been saved."""
    finished = Signal(bool)
    """What was asked for last has come to its end; whether all is saved."""

    def __init__(self, workspace: Workspace, hand_over: HandoverPage, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._hand_over = workspace, hand_over
        self._settings, self._window = settings, window
        # Two at most: while a take is being opened, the one before may come back.
        self._known: list[tuple[Take, Kept]] = []
        self._kept = Kept()
        self._awaited: Loaded | None = None
        self._clash: Save | None = None
        self._next: tuple[Path, bool] | None = None
        self._told = ("", False)
        self._claims = Claims()
        self._owner = ""
        self._wanted = Path()
        self._errands = Errands(self)
        self._errands.done.connect(self._done)
        self._errands.failed.connect(self._failed)
        workspace.changed.connect(self._changed)
        hand_over.form.changed.connect(self._look)

    @property
    def kept(self) -> Kept:
        """What is on disk of the work that is shown."""
        return self._kept

    @property
    def path(self) -> Path | None:
        """The project of the take that is shown; None until it was saved."""
        return self._kept.path

    @property
    def name(self) -> str:
        """What the work is called: by its project, else by its take; empty without any."""
        take = self._workspace.state.take
        file = self.path or (take.path if take is not None else None)
        return file.name if file is not None else ""

    @property
    def title(self) -> str:
        """The same, and whether it cannot be saved under that name."""
        barred = self._kept.newer is not None or self._owner
        return f"{self.name} (read only)" if barred else self.name

    @property
    def unsaved(self) -> bool:
        """Whether there is work that would be lost."""
        history, kept = self._workspace.history, self._kept
        if history is None:
            return False
        if kept.path is None:
            return history.at > 0
        return history != kept.history or self._hand_over.settings != kept.choices

    def expect(self, loaded: Loaded) -> None:
        """The take that is opened next is that of a project."""
        self._awaited = loaded

    def stop(self) -> None:
        """Stay until what is being saved is on disk; for good, before the window goes."""
        self._errands.stop()
        self._claims.keep(())

    def save_project(self) -> None:
        """Save, under the name it has or after asking for one."""
        if self.path is None or self._kept.newer is not None:
            self.save_project_as()
        else:
            self._save(self.path)

    def save_project_as(self) -> None:
        """Ask for a name and save."""
        if self._workspace.state.take is None or self._workspace.history is None:
            return
        if self._kept.newer is not None:
            self._offer_other_name(about_newer(self._window, self.name, self._kept.newer))
        else:
            self._choose_name()

    @Slot()
    def _choose_name(self) -> None:
        take = self._workspace.state.take
        if take is None:
            return
        usual = self.path or take.path.absolute().with_suffix(ENDING)
        dialog = QFileDialog(self._window, "Save the project", str(usual), PROJECTS)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(ENDING[1:])
        dialog.selectFile(usual.name)
        dialog.fileSelected.connect(self._named)
        dialog.rejected.connect(self._give_up)
        dialog.open()

    @Slot(str)
    def _named(self, name: str) -> None:
        path = Path(name).absolute()
        self._settings.remember_folder("takes", path.parent)
        if is_project(path) and not path.name.endswith("~"):
            # The dialog has asked already where a file is there.
            self._save(path, replaces=True)
        else:
            self._save(path.with_name(path.name + ENDING))

    def _save(self, path: Path, *, replaces: bool = False) -> None:
        take, history = self._workspace.state.take, self._workspace.history
        if take is None or history is None:
            self.finished.emit(False)
            return
        if self._errands.busy:
            # Its file would be taken for somebody else's.
            self._next = (path, replaces)
            return
        if owner := self._claims.claim(path):
            self._ask_about_owner(path, owner)
            return
        choices = self._hand_over.settings
        job = Save(path=path, take=take, history=history, choices=choices, kept=self._kept, replaces=replaces)
        self._errands.ask(partial(save, job))

    @Slot(object)
    def _done(self, answer: Saved | Clash) -> None:
        if isinstance(answer, Clash):
            self._next = None
            self._ask_about(answer.job)
            return
        self._keep(answer.job.take, answer.kept)
        self._workspace.message.emit(Message(f"Saved {answer.job.path.name}."))
        self.written.emit(answer.job.path)
        self._look()
        if not self._go_on():
            self.finished.emit(not self.unsaved)

    def _go_on(self) -> bool:
        """Save once more where that was asked for meanwhile."""
        asked, self._next = self._next, None
        if asked is not None:
            self._save(asked[0], replaces=asked[1])
        return asked is not None

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        self._next = None
        self._workspace.message.emit(failure(error, _FAULT))
        self.finished.emit(False)

    def _ask_about(self, job: Save) -> None:
        self._clash = job
        self._offer_other_name(about_other_work(self._window, job), "Replace", self._replace)

    def _ask_about_owner(self, path: Path, owner: str) -> None:
        self._wanted = path
        self._offer_other_name(about_owner(self._window, path, owner), "Save all the same", self._seize)

    def _offer_other_name(
        self, box: QMessageBox, words: str = "", does: Callable[[], object] | None = None
    ) -> None:
        other = box.addButton("Save under another name", QMessageBox.ButtonRole.AcceptRole)
        other.clicked.connect(self._choose_name)
        if does is not None:
            box.addButton(words, QMessageBox.ButtonRole.DestructiveRole).clicked.connect(does)
        stay = box.addButton("Do not save", QMessageBox.ButtonRole.RejectRole)
        stay.clicked.connect(self._give_up)
        box.setDefaultButton(other)
        box.setEscapeButton(stay)
        box.open()

    @Slot()
    def _seize(self) -> None:
        self._claims.seize(self._wanted)
        self._save(self._wanted)

    @Slot()
    def _replace(self) -> None:
        if self._clash is not None:
            self._errands.ask(partial(save, replace(self._clash, replaces=True)))

    @Slot()
    def _give_up(self) -> None:
        self.finished.emit(False)

    def _keep(self, take: Take, kept: Kept) -> None:
        others = [(other, its) for other, its in self._known if other is not take]
        self._know([*others[-1:], (take, kept)])
        if take is self._workspace.state.take:
            self._kept, self._owner = kept, ""

    def _know(self, known: list[tuple[Take, Kept]]) -> None:
        self._known = known
        self._claims.keep(its.path for _, its in known if its.path is not None)

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._kept, self._owner = Kept(), ""
            if new.take is not None:
                self._take_up(new.take)
        if new.take is None or self._workspace.history is not None:
            # No take from before comes back any more.
            known = [(take, its) for take, its in self._known if take is new.take]
            if len(known) < len(self._known):
                self._know(known)
        self._look()

    def _take_up(self, take: Take) -> None:
        """Know what is on disk of the work on a take that is shown now."""
        awaited, resumes = self._awaited, self._workspace.resumes
        kept = next((its for other, its in self._known if other is take), None)
        if kept is not None:
            self._kept = kept
        elif awaited is not None and resumes is awaited.history:
            self._hand_over.settings = awaited.choices
            self._keep(take, awaited.kept(self._hand_over.settings))
        if self._kept.path is not None and self._kept.newer is None:
            self._owner = self._claims.claim(self._kept.path)
            if self._owner:
                self._workspace.message.emit(Message(_IN_USE.format(self.name, self._owner), warning=True))

    @Slot()
    def _look(self) -> None:
        """Tell where the name, or whether all is saved, is another than before."""
        now = (self.title, self.unsaved)
        if now != self._told:
            self._told = now
            self.changed.emit()
