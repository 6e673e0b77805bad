"""What is being done, said whenever that is something else than what was said last."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from app.questions import FINDING

UNNOTICED = 300
"""Milliseconds new suggestions may take before anybody is told that they are being worked on."""


class Stages(QObject):
    """The stage of whatever takes time: a file that is read comes first, then what the worker process does."""

    said = Signal(str, float)
    """Words and the share that is done, 0 to 1; empty when nothing is being done."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._name = ""
        self._stage = self._last = ("", 0.0)
        self._timer = QTimer(self, singleShot=True, interval=UNNOTICED)
        self._timer.timeout.connect(self._notice)

    def read(self, name: str) -> None:
        """A file is being read; an empty name: none is any more."""
        self._name = name
        self._say()

    def reach(self, words: str, share: float) -> None:
        """The worker has come so far."""
        self._stage = (words, share)
        self._say()

    def suggest(self) -> None:
        """The worker suggests, which is worth no word unless it takes long."""
        self._timer.start()

    def rest(self) -> None:
        """The worker does nothing."""
        self._timer.stop()
        self.reach("", 0.0)

    @Slot()
    def _notice(self) -> None:
        self.reach(FINDING, 0.0)

    def _say(self) -> None:
        now = (f"Reading {self._name}", 0.0) if self._name else self._stage
        if now != self._last:
            self._last = now
            self.said.emit(*now)
