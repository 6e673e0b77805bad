"""A take in the real window: opened, painted, put right by real events, and every step of it timed."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")

import numpy as np
from PySide6.QtCore import QEvent, QEventLoop, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.main_window import MainWindow
from app.settings import Settings
from app.window import build_window
from core.edits import Place
from core.grid import Pin
from tests.bench import render

SIZE = (1600, 900)
FASTER = 1.65
"""The composed bars of 2 to 3 s played so much faster make 40 a minute."""

FRAMES, MOVES, RELEASES, OPENS = 60, 60, 30, 5
REST = 0.4
"""Seconds between two corrections; a musician takes more."""

EVERY = 100
"""Besides the first two, each so many bars a line is placed, or the count of a long take would drift."""

PATIENCE = 600.0
clock = time.perf_counter
"""What painting is timed by."""

Figures = dict[str, float]


def summary(seconds: list[float]) -> Figures:
    """Median and 95th percentile in milliseconds, and of how many."""
    if not seconds:
        return {"median": float("nan"), "p95": float("nan"), "n": 0}
    median, p95 = (1e3 * np.percentile(seconds, [50, 95])).tolist()
    return {"median": median, "p95": p95, "n": len(seconds)}


def timed(run: Callable[[], object]) -> float:
    begin = clock()
    run()
    return clock() - begin


def until(done: Callable[[], bool]) -> None:
    """Let the window go on until something holds."""
    end = time.monotonic() + PATIENCE
    waiting = QEventLoop.ProcessEventsFlag.AllEvents | QEventLoop.ProcessEventsFlag.WaitForMoreEvents
    # It wakes a wait in which nothing happens; to ask again and again would take a processor from the worker.
    waker = QTimer(interval=50)
    waker.start()
    while not done():
        if time.monotonic() > end:
            raise TimeoutError("The window did not get there.")
        QApplication.processEvents(waiting)
    waker.stop()


def compose(seconds: float) -> render.Notes:
    """Return the take: 40 bars a minute."""
    starts, pitches, velocities = render.compose(FASTER * seconds)
    return starts / FASTER, pitches, velocities


@contextmanager
def shown(folder: Path) -> Iterator[MainWindow]:
    """The window, its timeline as large as it is to be."""
    window = build_window(Settings(folder / "window.ini"))
    window.views.toggle_side_panel()
    window.resize(*SIZE)
    window.show()
    try:
        yield window
    finally:
        window.close()
        window.deleteLater()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def fitted(window: MainWindow, page: QWidget) -> None:
    """Give a page its size whatever stands around it."""
    for _ in range(2):
        QTest.qWait(50)
        window.resize(window.width() + SIZE[0] - page.width(), window.height() + SIZE[1] - page.height())
    QTest.qWait(50)


class Session:
    """One take in the window."""

    def __init__(self, window: MainWindow, path: Path, notes: render.Notes) -> None:
        self.window, self.workspace, self.span = window, window.workspace, window.span
        self.timeline, self.stage = window.timeline, window.timeline.stage
        self.path, self.notes = path, notes

    def settled(self) -> bool:
        state = self.workspace.state
        return (
            state.take is not None
            and state.take.path == self.path
            and state.grid is not None
            and not state.pending
        )

    def open(self) -> Figures:
        """Open it and wait for its bars, by a worker that has heard a take before; some are placed."""
        self.workspace.open(self.path)
        until(self.settled)
        self.workspace.close_take()
        QTest.qWait(500)
        begin = time.perf_counter()
        self.workspace.open(self.path)
        until(self.settled)
        bars = time.perf_counter() - begin
        starts = self.notes[0][::8]
        for bar in (1, 2, *range(EVERY, len(starts), EVERY)):
            self.workspace.do(Place(Pin(float(starts[bar - 1]), bar)))
            until(self.settled)
        until(lambda: self.workspace.pictured is not None)
        fitted(self.window, self.timeline)
        QTest.qWait(500)
        return {"bars": len(self.workspace.state.grid.bar_lines), "until bars, s": bars}

    def first_pictures(self) -> Figures:
        """From asking for the file until its picture is painted."""
        seconds = []
        for _ in range(OPENS):
            self.workspace.close_take()
            until(lambda: self.workspace.state.take is None)
            QTest.qWait(500)
            begin = time.perf_counter()
            self.workspace.open(self.path)
            until(lambda: self.workspace.pictured is not None)
            self.timeline.repaint()
            seconds.append(time.perf_counter() - begin)
        self.workspace.close_take()
        return summary(seconds)

    def repaints(self, length: float | None) -> Figures:
        """Frames while scrolling on by a few pixels; at full view, while the ends move by less than one."""
        duration = self.span.duration
        wide = 0.999 * duration if length is None else length
        seconds = []
        for i in range(FRAMES + 3):
            start = (
                0.4 * (duration - wide) * (1 + i / FRAMES) if length is None else 0.3 * duration + i * wide / 200
            )
            seconds.append(timed(lambda at=start: self._show(at, at + wide)))
        return summary(seconds[3:])

    def _show(self, start: float, end: float) -> None:
        self.span.show(start, end)
        self.timeline.repaint()

    def drags(self) -> tuple[Figures, Figures]:
        """Per move of the pointer with one bar line in the hand; then from its release to new bars on screen."""
        self.span.show(0.3 * self.span.duration, 0.3 * self.span.duration + 60)
        self.timeline.repaint()
        random, moves, releases = np.random.default_rng(1), [], []
        while len(releases) < RELEASES:
            lines = [line for line in self.workspace.state.grid.bar_lines if not line.placed and line.bar > 2]
            line = lines[random.integers(len(lines))]
            self.span.show(line.time - 20, line.time + 40)
            self.timeline.repaint()
            way = int(random.choice((-1, 1)))
            moves += self._grab(line.time, way, MOVES // RELEASES + 1)
            done = self.workspace.state.at
            begin = time.perf_counter()
            self._mouse("release")
            until(self.settled)
            self.timeline.repaint()
            releases.append(time.perf_counter() - begin)
            if self.workspace.state.at != done + 1:
                raise RuntimeError("The mouse moved no bar line.")
            self.workspace.undo()
            until(self.settled)
            QTest.qWait(round(1000 * REST))
        return summary(moves), summary(releases)

    def _grab(self, moment: float, way: int, count: int) -> list[float]:
        self._at = QPointF(self.span.x_of(moment), self.stage.height() / 2)
        self._mouse("press")
        seconds = []
        for _ in range(count + 4):
            self._at += QPointF(way, 0)
            begin = clock()
            self._mouse("move")
            self.timeline.repaint()
            seconds.append(clock() - begin)
        # The first of them only take hold.
        return seconds[4:]

    def _mouse(self, what: str) -> None:
        if what == "move":
            kind, nothing = QEvent.Type.MouseMove, Qt.MouseButton.NoButton
            held, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier
            there = self.stage.mapToGlobal(self._at)
            QApplication.sendEvent(self.stage, QMouseEvent(kind, self._at, there, nothing, held, keys))
            return
        act = QTest.mousePress if what == "press" else QTest.mouseRelease
        act(self.stage, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier, self._at.toPoint())

    def stack(self) -> tuple[Figures, Figures]:
        """Frames of the bar stack while scrolling, and per move with a bar line in the hand."""
        stack = self.window.bar_stack
        self.window.views.show_bar_stack()
        fitted(self.window, stack)
        rows, bar = stack.viewport(), stack.verticalScrollBar()
        frames, moves = [], []
        for i in range(FRAMES):
            bar.setValue(round(bar.maximum() * 0.2) + 7 * i)
            frames.append(timed(rows.repaint))
        middle = self.workspace.state.grid.bar_lines[len(self.workspace.state.grid.bar_lines) // 2].bar
        self.workspace.select({(middle, 1)})
        x, y = stack.x_of(0.0), stack.y_of(middle)
        QTest.mousePress(
            rows, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(round(x), round(y))
        )
        for i in range(MOVES):
            at = QPointF(round(x) + 4 + i, round(y))
            begin = clock()
            held, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier
            nothing = Qt.MouseButton.NoButton
            event = QMouseEvent(QEvent.Type.MouseMove, at, rows.mapToGlobal(at), nothing, held, keys)
            QApplication.sendEvent(rows, event)
            rows.repaint()
            moves.append(clock() - begin)
        QTest.keyClick(stack, Qt.Key.Key_Escape)
        QTest.mouseRelease(rows, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at.toPoint())
        self.window.views.show_timeline()
        fitted(self.window, self.timeline)
        return summary(frames), summary(moves)
