"""Files that are dropped into the window."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QWidget

from app.state import Message


class DropIn(QObject):
    """Takes a file of this computer where it is dropped.

    Parameters
    ----------
    window : QWidget
        Where files may be dropped.
    """

    hovered = Signal(bool)
    """Whether something that can be dropped is held over the window."""
    dropped = Signal(object)
    """Path of the file to open."""
    said = Signal(object)
    """Message."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        window.setAcceptDrops(True)
        window.installEventFilter(self)

    def eventFilter(self, _: QObject, event: QEvent) -> bool:
        """Take what has to do with dropping."""
        if isinstance(event, QDragEnterEvent):
            if _files(event):
                event.acceptProposedAction()
                self.hovered.emit(True)
            return True
        if event.type() == QEvent.Type.DragLeave:
            self.hovered.emit(False)
            return True
        if event.type() == QEvent.Type.Drop and isinstance(event, QDropEvent):
            self.hovered.emit(False)
            self._take(event)
            return True
        return False

    def _take(self, event: QDropEvent) -> None:
        paths = _files(event)
        event.acceptProposedAction()
        if len(paths) > 1:
            self.said.emit(Message(f"One take at a time: {paths[0].name} is opened."))
        if paths:
            self.dropped.emit(paths[0])


def _files(event: QDropEvent) -> list[Path]:
    return [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
