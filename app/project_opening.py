"""Opens a project: reads it, finds its recording or asks for it, and goes on with the work."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Slot
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.dialogs.question import question
from app.errands import Errands
from app.failure import failure
from app.newer_words import newer_words
from app.project_jobs import Loaded, compare, load
from app.saving import Saving
from app.settings import Settings
from app.state import Message
from app.workspace import Workspace
from core.stand_in import stand_in

_FAULT = "Something went wrong inside Barwright: the project was not opened, and is as it was."

TAKES = (
    "Takes (*.mid *.midi *.smf *.rmi *.wav *.flac *.ogg *.oga *.mp3 *.aif *.aiff *.aifc *.au *.caf *.opus "
    "*.m4a *.aac *.mp4)"
)
_NO_RECORDING = "Opened without its recording: between the lines you placed, the bars are even."
_HISTORY_LOST = "Your corrections are all here, but those from before they were saved cannot be undone any more."


class ProjectOpening(QObject):
    """Opens one project at a time; the newest wins.

    Parameters
    ----------
    workspace, saving : Workspace, Saving
        Go on with the work.
    settings : Settings
        Remembers folders.
    window : QWidget
        Over which questions appear.
    """

    def __init__(self, workspace: Workspace, saving: Saving, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._saving = workspace, saving
        self._settings, self._window = settings, window
        self._loaded: Loaded | None = None
        self._other = Path()
        self._errands = Errands(self)
        self._errands.done.connect(self._answered)
        self._errands.failed.connect(self._failed)

    def open(self, path: Path) -> None:
        """Open a project; returns at once."""
        self._errands.ask(partial(load, path))

    def go_on_with(self, loaded: Loaded) -> None:
        """Go on with work that was read already."""
        self._errands.drop()
        self._answered(loaded)

    def drop(self) -> None:
        """Something else is opened instead."""
        self._errands.drop()

    def stop(self) -> None:
        """Stay until what is being read has been read; for good, before the window goes."""
        self._errands.stop()

    @Slot(object)
    def _answered(self, answer: Loaded | tuple[Loaded, Path, bool]) -> None:
        if isinstance(answer, Loaded):
            self._loaded = answer
            if answer.recording is None:
                self._ask_for_recording(answer)
            else:
                self._go_on(answer, answer.recording)
            return
        loaded, recording, same = answer
        if same:
            self._go_on(replace(loaded, recording=recording), recording)
        else:
            self._ask_about_other(loaded, recording)

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        self._workspace.message.emit(failure(error, _FAULT))

    def _go_on(self, loaded: Loaded, recording: Path) -> None:
        self._loaded = None
        self._saving.expect(loaded)
        self._workspace.open(recording, loaded.history)
        self._tell(loaded)

    @Slot()
    def _go_on_without(self) -> None:
        if self._loaded is None:
            return
        loaded, self._loaded = replace(self._loaded, absent=True), None
        history = loaded.history
        take, onsets = stand_in(loaded.expected, history.document, (entry.document for entry in history.entries))
        self._saving.expect(loaded)
        self._workspace.open_without(take, onsets, loaded.history)
        self._workspace.message.emit(Message(_NO_RECORDING, warning=True))
        self._tell(loaded)

    def _tell(self, loaded: Loaded) -> None:
        newer = loaded.project.newer
        if newer is not None:
            self._workspace.message.emit(Message(newer_words(loaded.name, newer), warning=True))
        elif not loaded.whole:
            self._workspace.message.emit(Message(_HISTORY_LOST, warning=True))

    def _ask_for_recording(self, loaded: Loaded) -> None:
        changed = loaded.expected.is_file()
        box = question(
            self._window,
            "Where is the recording?",
            f"{loaded.expected.name} has been changed since it was worked on."
            if changed
            else f"{loaded.expected.name} is not where it was when it was worked on.",
            f"It is not nearby under another name either. Of {loaded.name} nothing is lost: say where the "
            "recording is now, or open your bars without it; between the lines you placed they are even then.",
        )
        find = box.addButton("Find it…", QMessageBox.ButtonRole.AcceptRole)
        find.clicked.connect(self._find)
        without = box.addButton("Open without it", QMessageBox.ButtonRole.ActionRole)
        without.clicked.connect(self._go_on_without)
        leave = box.addButton("Leave it", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(find)
        box.setEscapeButton(leave)
        box.open()

    @Slot()
    def _find(self) -> None:
        if self._loaded is None:
            return
        wanted = f"Recording ({self._loaded.expected.name})"
        folder = str(_folder_of(self._loaded))
        dialog = QFileDialog(self._window, "Find the recording", folder, f"{TAKES};;{wanted};;All files (*)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._found)
        dialog.open()

    @Slot(str)
    def _found(self, name: str) -> None:
        if self._loaded is not None:
            self._errands.ask(partial(compare, self._loaded, Path(name)))

    def _ask_about_other(self, loaded: Loaded, recording: Path) -> None:
        self._other = recording
        box = question(
            self._window,
            "Another recording?",
            f"{recording.name} is not the recording, to the last byte, that {loaded.name} was made on.",
            "Used all the same, every placed line stays at its time; whether that is right, only you can hear.",
        )
        box.addButton("Use it all the same", QMessageBox.ButtonRole.AcceptRole).clicked.connect(self._use_other)
        again = box.addButton("Choose another…", QMessageBox.ButtonRole.ActionRole)
        again.clicked.connect(self._find)
        box.addButton("Leave it", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(again)
        box.open()

    @Slot()
    def _use_other(self) -> None:
        if self._loaded is not None:
            self._go_on(self._loaded, self._other)


def _folder_of(loaded: Loaded) -> Path:
    return loaded.expected.parent if loaded.path is None else loaded.path.parent
