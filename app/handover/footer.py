"""The foot of the page: the button that writes, the question before files are replaced, and what went wrong."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from app.handover.parts import prose


class Footer(QFrame):
    """One line of text and the buttons that go with it."""

    write_wanted = Signal()
    replace_wanted = Signal()
    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("footer")
        self.asking = False
        self.text = prose()
        self.leave = QPushButton("&Leave them as they are")
        self.replace = QPushButton("&Replace them")
        self.write = QPushButton("&Write the files")
        self.write.setProperty("role", "primary")
        self.stop = QPushButton("&Stop")
        self.stop.setToolTip("Write no more; every file is then as it was before")
        row = QHBoxLayout(self)
        row.setContentsMargins(20, 10, 20, 10)
        row.setSpacing(10)
        row.addWidget(self.text, 1)
        for button in (self.leave, self.replace, self.stop, self.write):
            button.setAutoDefault(True)
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignVCenter)
        self.write.clicked.connect(self.write_wanted)
        self.replace.clicked.connect(self._replace)
        self.leave.clicked.connect(self.withdraw)
        self.stop.clicked.connect(self.stop_wanted)
        self.stop.hide()
        self.withdraw()

    def say(self, words: str, *, warning: bool = False) -> None:
        """Show a sentence."""
        self.text.setText(words)
        self._mark(warning)

    def busy(self, *, writing: bool) -> None:
        """Show the button that stops while files are being written."""
        self.stop.setVisible(writing)

    def ask(self, names: list[str], folder: Path) -> None:
        """Ask whether files that are there may be replaced."""
        self._put_question(True)
        one = len(names) == 1
        which = f"{', '.join(names[:-1])} and {names[-1]} are" if not one else f"{names[0]} is"
        self.replace.setText("&Replace it" if one else "&Replace them")
        self.leave.setText("&Leave it as it is" if one else "&Leave them as they are")
        self.say(f"{which} in the folder “{folder.name}” already.")
        self.leave.setFocus()

    @Slot()
    def withdraw(self) -> None:
        """Ask no more."""
        back = self.leave.hasFocus() or self.replace.hasFocus()
        if self.asking:
            self.say("")
        self._put_question(False)
        if back:
            self.write.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves everything as it is."""
        if event.key() == Qt.Key.Key_Escape and self.asking:
            self.withdraw()
        else:
            super().keyPressEvent(event)

    @Slot()
    def _replace(self) -> None:
        self.withdraw()
        self.replace_wanted.emit()

    def _put_question(self, asking: bool) -> None:
        self.asking = asking
        self.leave.setVisible(asking)
        self.replace.setVisible(asking)
        self.write.setVisible(not asking)

    def _mark(self, warning: bool) -> None:
        self.text.setProperty("role", "warning" if warning else "")
        self.text.style().unpolish(self.text)
        self.text.style().polish(self.text)
