"""How long suggestions that are out of date are shown as if they were not: most are replaced sooner."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

PATIENCE = 150
"""Milliseconds."""


class Patience(QObject):
    """Tells when newer suggestions have been on their way for too long to go on unsaid."""

    lost = Signal()
    """Suggestions are to be shown as out of date from now on."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.outdated = False
        self._timer = QTimer(self, singleShot=True, interval=PATIENCE)
        self._timer.timeout.connect(self._lose)

    @property
    def waiting(self) -> bool:
        """Whether it may be lost by itself."""
        return self._timer.isActive()

    def follow(self, pending: bool) -> None:
        """Take in whether newer suggestions are on their way."""
        if not pending:
            self._timer.stop()
            self.outdated = False
        elif not self.outdated and not self._timer.isActive():
            self._timer.start()

    def rest(self) -> None:
        """Leave no timer behind."""
        self._timer.stop()

    def _lose(self) -> None:
        self.outdated = True
        self.lost.emit()
