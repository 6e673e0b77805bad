"""Takes are opened and left: by the file dialog, from the recent ones, by their path; work is not left unasked."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.empty_state import example_folder
from app.settings import Settings
from app.workspace import Workspace

TAKES = (
    "Takes (*.mid *.midi *.smf *.rmi *.wav *.flac *.ogg *.oga *.mp3 *.aif *.aiff *.aifc *.au *.caf *.opus "
    "*.m4a *.aac *.mp4);;All files (*)"
)


class Opening(QObject):
    """Each method without an underscore is a command of `app.actions`, or opens a file for one.

    Parameters
    ----------
    workspace : Workspace
        Opens and closes.
    settings : Settings
        Remembers takes and folders.
    window : QWidget
        Over which questions appear; closed by `quit_window`.
    """

    recent_changed = Signal()

    def __init__(self, workspace: Workspace, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._settings, self._window = workspace, settings, window
        self._path = Path()
        self._then = "close"

    def open_take(self) -> None:
        """Ask for a file."""
        dialog = QFileDialog(self._window, "Open a take", str(self._settings.folder("takes")), TAKES)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._file_chosen)
        dialog.open()

    def _file_chosen(self, name: str) -> None:
        self.open_path(Path(name))

    def open_recent(self, action: QAction) -> None:
        """Open the take an action of the list of recent ones stands for."""
        self.open_path(Path(str(action.data())))

    def open_example(self) -> None:
        """Open the ten-minute example."""
        folder = example_folder()
        if folder is not None:
            self.open_path(folder / "low-tide.mid")

    def open_path(self, path: Path) -> None:
        """Open a file, after asking where work would be left."""
        self._path = path
        self._leave("open")

    def forget_recent(self) -> None:
        """Empty the list of recent takes."""
        self._settings.forget_takes()
        self.recent_changed.emit()

    def remember(self, path: Path) -> None:
        """Put a take that was opened at the head of the recent ones."""
        self._settings.remember_take(path)
        self._settings.remember_folder("takes", path.parent)
        self.recent_changed.emit()

    def cancel_work(self) -> None:
        """Stop what is being worked on."""
        self._workspace.cancel()

    def close_take(self) -> None:
        """Close the take."""
        self._leave("close")

    def quit_window(self) -> None:
        """Close the window."""
        self._leave("quit")

    def _leave(self, then: str) -> None:
        """Do something that leaves the take; ask first where things were done to it."""
        self._then = then
        state = self._workspace.state
        if state.take is None or not state.at:
            self._left()
            return
        things = "1 thing" if state.at == 1 else f"{state.at} things"
        box = QMessageBox(self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setWindowTitle("Leave this take?")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(f"Leave {state.take.path.name}?")
        box.setInformativeText(
            f"You have done {things} to its bars. They last in what you hand over, not in the take itself."
        )
        leave = box.addButton("Leave", QMessageBox.ButtonRole.DestructiveRole)
        leave.clicked.connect(self._left)
        box.setDefaultButton(box.addButton("Stay", QMessageBox.ButtonRole.RejectRole))
        box.open()

    def _left(self) -> None:
        if self._then == "open":
            self._workspace.open(self._path)
        elif self._then == "close":
            self._workspace.close_take()
        else:
            self._window.close()
