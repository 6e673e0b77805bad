"""Writes a plan away from the window, tells how it goes, and can be stopped, which leaves everything as it was."""

from __future__ import annotations

import threading
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot

from app.errands import Errands
from core.handover import write
from core.planned import Plan, Written

_STEP = 0.01
"""Share of a file after which it is told again how far it is."""


class StoppedError(Exception):
    """The musician wants no more of it."""


class Writing(QObject):
    """One plan at a time."""

    told = Signal(str, float)
    """What is being done, and the share of it that is done."""
    wrote = Signal(object)
    """The plan and what has been `Written`, as a pair."""
    failed = Signal(object)
    """The exception that it ended with."""
    stopped = Signal()
    """It was stopped; nothing has changed."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._errands = Errands(self)
        self._enough = threading.Event()
        self._last = ("", -1.0)
        self._errands.done.connect(self.wrote)
        self._errands.failed.connect(self._ended)

    @property
    def busy(self) -> bool:
        """Whether something is being written."""
        return self._errands.busy

    def write(self, planned: Plan, folder: Path, given: list[Path], *, overwrite: bool) -> None:
        """Begin to write."""
        self._enough.clear()
        self._last = ("", -1.0)
        self._errands.ask(partial(self._write, planned, folder, given, overwrite))

    @Slot()
    def stop(self) -> None:
        """Want no more of it; `stopped` follows."""
        self._enough.set()

    def end(self) -> None:
        """Stop for good, and stay until it has ended."""
        self._enough.set()
        self._errands.stop()

    def _write(self, planned: Plan, folder: Path, given: list[Path], overwrite: bool) -> tuple[Plan, Written]:
        return planned, write(planned, folder, given=given, overwrite=overwrite, stages=self._tell)

    def _tell(self, words: str, share: float) -> None:
        if self._enough.is_set():
            raise StoppedError
        before, at = self._last
        if words != before or share >= at + _STEP:
            self._last = (words, share)
            self.told.emit(words, share)

    @Slot(object)
    def _ended(self, error: Exception) -> None:
        if isinstance(error, StoppedError):
            self.stopped.emit()
        else:
            self.failed.emit(error)
