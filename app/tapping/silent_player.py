"""A clock that goes through the take without a sound."""

from __future__ import annotations

import time

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from core.checks import Floats

STEP = 30
"""Milliseconds from one place of the playhead to the next."""


class SilentPlayer(QObject):
    """Player and strip in one."""

    playing_changed = Signal(bool)
    moved = Signal(object)
    """Take time now, None when it has stopped."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.silent = "nothing is played on this computer."
        self._begun: float | None = None
        self._start, self._end = 0.0, float("inf")
        self._timer = QTimer(self, interval=STEP)
        self._timer.timeout.connect(self._move)

    @property
    def playing(self) -> bool:
        """Whether the clock runs."""
        return self._begun is not None

    def play_from(self, start: float, end: float | None = None) -> None:
        """Run from a moment of the take on."""
        self._begun, self._start, self._end = time.monotonic(), start, float("inf") if end is None else end
        self._timer.start()
        self.playing_changed.emit(True)

    def play_clicks(self, times: Floats) -> None:
        """Run as long as these clicks would last."""
        self.play_from(0.0, float(times[-1]) + 0.5)

    def stop(self) -> None:
        """Stand still."""
        if self._begun is not None:
            self._timer.stop()
            self._begun = None
            self.moved.emit(None)
            self.playing_changed.emit(False)

    def take_time(self, moment: float) -> float | None:
        """Take time at a moment of the monotonic clock, None while it stands still."""
        return None if self._begun is None else self._start + moment - self._begun

    def lend_space(self, lent: bool) -> None:
        """Space is nobody else's."""

    @Slot()
    def _move(self) -> None:
        now = self.take_time(time.monotonic())
        if now is not None and now < self._end:
            self.moved.emit(now)
        else:
            self.stop()
