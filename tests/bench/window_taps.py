"""Tapping in the real window, timed: from a key to the mark of its tap, from the end of a pass to its lines."""

from __future__ import annotations

import time

import numpy as np
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.app.tapping.fake_player import FakePlayer
from tests.bench.window_session import Figures, Session, fitted, summary, until

SPREAD = 0.025
"""Seconds by which the taps scatter."""


class Painted(QObject):
    """Counts how often a widget was painted."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def eventFilter(self, _: QObject, event: QEvent) -> bool:
        """Count, and keep nothing back."""
        self.count += event.type() == QEvent.Type.Paint
        return False


def taps(session: Session) -> tuple[Figures, Figures]:
    """Per tap from the key to its mark on screen; then from the end of the pass to its lines on screen.

    Every bar is tapped, through the whole take, with the last 30 seconds on screen.
    """
    window, tapping, player = session.window, session.window.tapping, FakePlayer()
    tapping.play_with(player, player)
    painted = Painted()
    tapping.layer.installEventFilter(painted)
    bars = session.notes[0][::8]
    random = np.random.default_rng(1)
    tapping.tap_along()
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Space)
    seconds = []
    for bar in bars.tolist():
        session.span.show(bar - 25, bar + 5)
        QApplication.processEvents()
        player.heard = max(bar + float(random.normal(0, SPREAD)), 0.0)
        count, begin = painted.count, time.perf_counter()
        QTest.keyClick(window.windowHandle(), Qt.Key.Key_Space)
        while painted.count == count:
            QApplication.processEvents()
        seconds.append(time.perf_counter() - begin)
    begin = time.perf_counter()
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Escape)
    until(lambda: bool(tapping.layer.preview.lines))
    session.timeline.repaint()
    lines = time.perf_counter() - begin
    tapping.drop_taps()
    tapping.close_bar()
    tapping.layer.removeEventFilter(painted)
    until(session.settled)
    fitted(window, session.timeline)
    return summary(seconds), summary([lines])
