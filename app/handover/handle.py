"""The finished MIDI file as something to take hold of and drag into another program."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl, Signal
from PySide6.QtGui import QDrag, QGuiApplication, QKeyEvent, QKeySequence, QMouseEvent
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.colours import Colours
from app.handover.parts import FileName
from app.icon import pixmap


class FileHandle(QFrame):
    """A tile with the name of a file; dragging it drags the file, and Copy puts it on the clipboard."""

    gone = Signal(object)
    """The path of a file that is not there any more."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path: Path | None = None
        self._pressed: QPoint | None = None
        self.setObjectName("fileHandle")
        self.setMinimumWidth(270)
        self.setMaximumWidth(420)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setToolTip("Drag it into another program, or copy it with Ctrl+C and paste it there")
        self.sign, self.name, self.words = QLabel(), FileName(), QLabel("Drag this file into your sequencer")
        self.name.setProperty("role", "title")
        self.words.setProperty("role", "help")
        texts = QVBoxLayout()
        texts.setSpacing(0)
        texts.addWidget(self.name)
        texts.addWidget(self.words)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 16, 8)
        row.setSpacing(10)
        row.addWidget(self.sign)
        row.addLayout(texts, 1)

    def hold(self, path: Path) -> None:
        """Stand for a file."""
        self.path = path
        self.name.say(path.name)
        self.setAccessibleName(f"Drag {path.name} into another program")

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self.sign.setPixmap(pixmap("hand-over", colours.note, 24, self.devicePixelRatioF()))

    def mime(self) -> QMimeData | None:
        """The file as other programs take it; None, and a signal, where it has gone."""
        if self.path is None or not self.path.is_file():
            self.gone.emit(self.path)
            return None
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(self.path.absolute()))])
        return data

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold."""
        self._pressed = event.position().toPoint() if event.button() == Qt.MouseButton.LeftButton else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the file once the pointer has gone far enough."""
        if self._pressed is None:
            return
        way = (event.position().toPoint() - self._pressed).manhattanLength()
        if way >= QApplication.startDragDistance():
            self._pressed = None
            if (data := self.mime()) is not None:
                drag = QDrag(self)
                drag.setMimeData(data)
                drag.setPixmap(self.grab())
                drag.setHotSpot(QPoint(24, self.height() // 2))
                drag.exec(Qt.DropAction.CopyAction)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._pressed = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy the file."""
        if event.matches(QKeySequence.StandardKey.Copy):
            if (data := self.mime()) is not None:
                QGuiApplication.clipboard().setMimeData(data)
        else:
            super().keyPressEvent(event)
