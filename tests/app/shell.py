"""A whole window for tests: real workspace, real worker, settings in a folder of their own."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import mido
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.main_window import MainWindow
from app.settings import Settings
from app.window import build_window
from core.grid import Beat
from tests.app.takes import play_midi

WAIT = 30_000


@contextmanager
def window_of(folder: Path) -> Iterator[MainWindow]:
    """A shown window that ends with all it has started."""
    window = build_window(Settings(folder / "settings.ini"))
    window.resize(1280, 800)
    window.show()
    try:
        yield window
    finally:
        window.close()
        window.deleteLater()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def held(path: Path, target: Path, *, after: float, seconds: float) -> Path:
    """Write a take again with a long stop in it."""
    midi = mido.MidiFile(path)
    now = 0.0
    for message in midi.tracks[0]:
        # Division 1000 at 120 a minute: half a millisecond a tick.
        now += message.time / 2000
        if now > after and message.type == "note_on":
            message.time += round(2000 * seconds)
            break
    midi.save(target)
    return target


def with_a_stop(folder: Path, *, phrases: int, seconds: float) -> Path:
    """Write a take of some phrases with a stop in the middle."""
    take = play_midi(folder / f"{phrases} phrases.mid", phrases=phrases)
    middle = float(take.bars[len(take.bars) // 2])
    return held(take.path, folder / "with a stop.mid", after=middle - 0.3, seconds=seconds)


def settled(window: MainWindow) -> bool:
    state = window.workspace.state
    return state.grid is not None and not state.pending


def opened(qtbot: QtBot, window: MainWindow, path: Path) -> None:
    """Open a take and wait for its bars."""
    window.open_path(path)
    qtbot.waitUntil(lambda: window.workspace.state.take is not None, timeout=WAIT)
    qtbot.waitUntil(lambda: window.workspace.state.take.path == path and settled(window), timeout=WAIT)


def afresh(qtbot: QtBot, window: MainWindow) -> None:
    """As first suggested, nothing selected, all of the take on screen, no dialog."""
    close_dialogs()
    window.workspace.go_to(0)
    qtbot.waitUntil(lambda: settled(window), timeout=WAIT)
    window.workspace.select([])
    window.views.show_timeline()
    window.navigation.fit()
    window.pointer.leave()
    to_front(qtbot, window)


def to_front(qtbot: QtBot, window: MainWindow) -> None:
    """Keys go to the timeline, as they do when a dialog has gone."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow, timeout=WAIT)
    window.timeline.stage.setFocus()


def close_dialogs() -> None:
    for _ in range(5):
        widget = QApplication.activeModalWidget() or QApplication.activePopupWidget()
        if widget is None:
            return
        widget.close()
        QApplication.processEvents()


def press(qtbot: QtBot, window: MainWindow, key: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
    """A key on the timeline, and wait for what follows from it."""
    qtbot.keyClick(window.timeline.stage, key, held or Qt.KeyboardModifier.NoModifier)
    qtbot.waitUntil(lambda: settled(window), timeout=WAIT)


def bar_line(window: MainWindow, bar: int) -> Beat:
    return next(line for line in window.workspace.state.grid.bar_lines if line.bar == bar)


def times(window: MainWindow) -> dict[int, float]:
    return {line.bar: line.time for line in window.workspace.state.grid.bar_lines}


def point(qtbot: QtBot, window: MainWindow, time: float) -> QPoint:
    """Move the pointer to a moment on the stage, clear of heads and onset marks."""
    at = QPoint(round(window.span.x_of(time)), window.timeline.stage.height() // 2)
    qtbot.mouseMove(window.timeline.stage, at)
    return at
