"""What was written: how exact it is, the file to take hold of, and how it goes into a sequencer."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal, Slot
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.colours import Colours
from app.handover.handle import FileHandle
from app.handover.parts import prose
from app.state import Message
from app.telling import count, gain_words, in_ms
from core.planned import Plan, Written

_STALE = "Something has changed since: write the files again to bring them up to date."


def _steps(plan: Plan) -> list[str]:
    """Say how the files go into a sequencer."""
    return [
        "Start an empty session.",
        "Drop the MIDI file at the very start of it and accept its tempo map and time signatures.",
        f"{plan.placing} The recording must keep its own speed, so switch off anything that stretches it "
        "to follow the tempo.",
        "Switch the click on and listen to the first bars and the last ones. If you work on headphones, turn the "
        "click down first and then up: a click over soft playing is easily much louder than the music.",
    ]


class ResultCard(QFrame):
    """Shown once the files are there."""

    said = Signal(object)
    """A `Message`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._written: Written | None = None
        self.heading = prose(role="title")
        self.proof = prose()
        self.stale = prose(_STALE, role="warning")
        self.handle = FileHandle()
        self.open_folder = QPushButton("Open folder")
        self.copy_path = QPushButton("Copy path")
        self.copy_path.setToolTip("Copy where the MIDI file is, to paste it into a file dialog")
        self.steps = [prose() for _ in range(4)]

        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.handle, 1)
        buttons.addWidget(self.open_folder, 0, Qt.AlignmentFlag.AlignVCenter)
        buttons.addWidget(self.copy_path, 0, Qt.AlignmentFlag.AlignVCenter)
        buttons.addStretch(0)
        steps = QGridLayout()
        steps.setHorizontalSpacing(8)
        steps.setVerticalSpacing(5)
        steps.setColumnStretch(1, 1)
        for i, step in enumerate(self.steps):
            steps.addWidget(QLabel(f"{i + 1}."), i, 0, Qt.AlignmentFlag.AlignTop)
            steps.addWidget(step, i, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 14)
        column.setSpacing(6)
        for label in (self.heading, self.proof, self.stale):
            column.addWidget(label)
        column.addSpacing(4)
        column.addLayout(buttons)
        column.addSpacing(8)
        column.addWidget(prose("Into your sequencer", role="title"))
        column.addLayout(steps)

        self.open_folder.clicked.connect(self._open_folder)
        self.copy_path.clicked.connect(self._copy_path)
        self.handle.gone.connect(self._gone)

    @property
    def path(self) -> Path | None:
        """The MIDI file."""
        return self._written.map_path if self._written else None

    def show_written(self, plan: Plan, written: Written) -> None:
        """Tell about a hand-over that has been written."""
        self._written = written
        back = written.read_back
        self.heading.setText(f"✓ {count(len(written.files), 'file')} written and read back")
        self.proof.setText(
            f"{count(back.bars, 'bar line')} in the MIDI file compared with the tempo map, lead-in included: "
            f"the worst is {in_ms(back.worst)} off (bar {back.worst_bar} of the session)."
            + (f" {gain_words(plan, written.gain_db)}" if written.gain_db is not None else "")
        )
        for label, words in zip(self.steps, _steps(plan), strict=True):
            label.setText(words)
        self.handle.hold(written.map_path)
        self.mark_stale(False)

    def mark_stale(self, stale: bool) -> None:
        """Say whether the files are behind what is shown."""
        self.stale.setVisible(stale)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self.handle.recolour(colours)

    @Slot()
    def _open_folder(self) -> None:
        folder = self.path.parent if self.path else None
        if folder is None or not QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder))):
            self.said.emit(
                Message(f"{folder} could not be opened; copy the path and open it yourself.", warning=True)
            )

    @Slot()
    def _copy_path(self) -> None:
        if self.path is not None:
            QGuiApplication.clipboard().setText(str(self.path))
            self.said.emit(Message(f"Copied {self.path}"))

    @Slot(object)
    def _gone(self, path: Path | None) -> None:
        self.said.emit(Message(f"{path} is not there any more; write the files again.", warning=True))
