"""Takes and projects are opened and left: by dialog, from the recent ones, by path; work is not left unasked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.empty_state import example_folder
from app.project_jobs import Loaded
from app.project_opening import TAKES, ProjectOpening
from app.saving import PROJECTS, Saving
from app.settings import Settings
from app.workspace import Workspace
from core.project_file import ENDING, is_project

BOTH = TAKES.replace("Takes (", f"Takes and projects (*{ENDING} ")


class Opening(QObject):
    """Each method without an underscore is a command of `app.actions`, or opens a file for one.

    Parameters
    ----------
    workspace : Workspace
        Opens and closes.
    saving : Saving
        Saves what would be left.
    settings : Settings
        Remembers takes and folders.
    window : QWidget
        Over which questions appear; closed by `quit_window`.
    """

    recent_changed = Signal()
    quitting = Signal()
    """The window is about to close, and whatever is not saved was left knowingly."""

    def __init__(self, workspace: Workspace, saving: Saving, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._saving = workspace, saving
        self._settings, self._window = settings, window
        self._projects = ProjectOpening(workspace, saving, settings, window)
        self._path = Path()
        self._then = "close"
        self._back: tuple[Loaded, Callable[[], object]] | None = None
        self._leaving = False
        saving.finished.connect(self._saved)
        saving.written.connect(self.remember)

    def open_take(self) -> None:
        """Ask for a file."""
        kinds = f"{BOTH};;{PROJECTS};;{TAKES};;All files (*)"
        dialog = QFileDialog(self._window, "Open a take or a project", str(self._settings.folder("takes")), kinds)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._file_chosen)
        dialog.open()

    def _file_chosen(self, name: str) -> None:
        self.open_path(Path(name))

    def open_example(self) -> None:
        """Open the ten-minute example."""
        folder = example_folder()
        if folder is not None:
            self.open_path(folder / "low-tide.mid")

    def open_path(self, path: Path) -> None:
        """Open a file, after asking where work would be left."""
        self._path = path
        self._leave("open")

    def take_back(self, loaded: Loaded, going: Callable[[], object]) -> None:
        """Go on with work from a journal, after asking where other work would be left; then `going` is called."""
        self._back = loaded, going
        self._leave("take back")

    def forget_recent(self) -> None:
        """Empty the list of recent takes."""
        self._settings.forget_takes()
        self.recent_changed.emit()

    def remember(self, path: Path) -> None:
        """Put a file that was opened or saved at the head of the recent ones."""
        self._settings.remember_take(path)
        self._settings.remember_folder("takes", path.parent)
        self.recent_changed.emit()

    def cancel_work(self) -> None:
        """Stop what is being worked on."""
        self._projects.drop()
        self._workspace.cancel()

    def close_take(self) -> None:
        """Close the take."""
        self._leave("close")

    def quit_window(self) -> None:
        """Close the window."""
        self._leave("quit")

    def stop(self) -> None:
        """Stay until what is being read has been read; for good, before the window goes."""
        self._projects.stop()

    def _leave(self, then: str) -> None:
        """Do something that leaves the take; ask first where things were done to it."""
        self._then = then
        state = self._workspace.state
        if state.take is None or not self._saving.unsaved:
            self._left()
            return
        saved = self._saving.path is not None
        things = "1 thing" if state.at == 1 else f"{state.at} things"
        box = QMessageBox(self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setWindowTitle("Save first?")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(f"Save the work on {self._saving.name}?")
        box.setInformativeText(
            "What you have done since it was saved last would be lost."
            if saved
            else f"You have done {things} to its bars, which would be lost. The recording itself never changes."
        )
        first = box.addButton("Save" if saved else "Save…", QMessageBox.ButtonRole.AcceptRole)
        first.clicked.connect(self._save_first)
        leave = box.addButton("Leave without saving", QMessageBox.ButtonRole.DestructiveRole)
        leave.clicked.connect(self._left)
        stay = box.addButton("Stay", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(first)
        box.setEscapeButton(stay)
        box.open()

    @Slot()
    def _save_first(self) -> None:
        self._leaving = True
        self._saving.save_project()

    @Slot(bool)
    def _saved(self, all_of_it: bool) -> None:
        leaving, self._leaving = self._leaving, False
        if leaving and all_of_it:
            self._left()

    @Slot()
    def _left(self) -> None:
        if self._then == "take back" and self._back is not None:
            (loaded, going), self._back = self._back, None
            going()
            self._projects.go_on_with(loaded)
        elif self._then == "open" and is_project(self._path):
            self._projects.open(self._path)
        elif self._then == "open":
            self._projects.drop()
            self._workspace.open(self._path)
        elif self._then == "close":
            self._projects.drop()
            self._workspace.close_take()
        else:
            self.quitting.emit()
            self._window.close()
