"""The window used for a long time: ``python -m tests.bench.soak``.

Takes are opened one after the other; on each, random gestures are made with the mouse and the keys: every command
there is, bar lines dragged, lists and lanes clicked, dialogs answered or left. After each take everything this
process holds is counted; what grows from round to round is a leak, what nobody caught is a fault.
Exit status: 0 nothing grew and nothing went wrong, 1 something did.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import random
import shutil
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QFileDialog, QLineEdit, QWidget

from app.actions import COMMANDS
from app.main_window import MainWindow
from app.settings import Settings
from app.state import Message
from app.window import application, build_window
from tests.app.patience import until as in_time
from tests.app.tally import children, memory
from tests.app.timeline import hand

EXAMPLES = Path(__file__).parents[2] / "examples"
TAKES = ("night-ferry.mid", "net-mending.ogg")
LEFT_OUT = {"quit_window", "open_take", "open_example", "close_take", "save_project_as", "calibrate_taps"}
"""Commands that leave the take, or last for a minute."""

WARM = 0.25
"""Share of the rounds after which nothing may grow any more."""

GROWTH = {"memory_mb": 0.15, "objects": 0.02, "qobjects": 0.02, "threads": 0.0, "files": 0.0, "processes": 0.0}
"""By what share the last quarter of the rounds may be above the second one. Memory that was freed stays with the
process in pieces, so it may rise and fall by more than the rest."""

TYPED = ("7", "A long name for a section of this piece", "3/4", "-1", "")

FAULT_WORDS = ("Something went wrong",)


until = partial(in_time, patience=120.0)


class Soak:
    """The musician who never stops."""

    def __init__(self, window: MainWindow, folder: Path, seed: int) -> None:
        self.window, self.folder, self.dice = window, folder, random.Random(seed)
        self.kinds: Counter[str] = Counter()
        self.faults: list[str] = []
        window.workspace.message.connect(self._heard)
        window.player.message.connect(self._heard)
        window.saving.finished.connect(self._finished)
        self._acts = (
            *((self._command, 12), (self._drag, 4), (self._click, 4), (self._wheel, 2), (self._lists, 2)),
            *(
                (self._lane, 2),
                (self._stack, 1),
                (self._menu, 1),
                (self._size, 1),
                (self._save, 1),
                (self._tap, 1),
            ),
        )

    def _heard(self, message: Message) -> None:
        if message.details or message.text.startswith(FAULT_WORDS):
            self.faults.append(f"{message.text} {message.details}")

    def _finished(self, _all: bool) -> None:
        self._saved = True

    def round(self, take: Path, gestures: int) -> None:
        """Open a take, do so many things, and leave it."""
        window = self.window
        window.opening.open_path(take)
        until(lambda: self._there() and window.workspace.state.take.path.stem == take.stem, f"{take.name} opens")
        for _ in range(gestures):
            (act,) = self.dice.choices([act for act, _ in self._acts], [weight for _, weight in self._acts])
            self._answer()
            if window.workspace.state.take is None:
                break
            self.kinds[act.__name__.strip("_")] += 1
            act()
            QTest.qWait(self.dice.choice((0, 0, 5, 20)))
        until(lambda: not self._answer(), "the last dialog is closed")
        self._leave()

    def _there(self) -> bool:
        state = self.window.workspace.state
        return state.take is not None and state.grid is not None and not state.pending

    def _leave(self) -> None:
        """Without its work: every round begins on the same ground."""
        window = self.window
        if window.player.playing:
            window.listening.play_stop()
        window.sections.hand.drop_sections()
        window.views.show_timeline()
        until(lambda: not window.workspace.state.pending, "the last bars")
        window.workspace.close_take()
        window.showNormal()
        for dialog in window.findChildren(QDialog):
            dialog.close()
        QTest.qWait(100)

    def _answer(self) -> bool:
        """Answer whatever stands over the window, or leave it; whether anything did."""
        over = QApplication.activePopupWidget() or QApplication.activeModalWidget()
        if over is None:
            return False
        if isinstance(over, QFileDialog) or self.dice.random() < 0.4:
            over.close()
        else:
            for field in over.findChildren(QLineEdit):
                if field.isVisible() and self.dice.random() < 0.7:
                    field.setText(self.dice.choice(TYPED))
            key = self.dice.choice((Qt.Key.Key_Return, Qt.Key.Key_Escape))
            QTest.keyClick(over, key)
        QTest.qWait(1)
        left = QApplication.activePopupWidget() or QApplication.activeModalWidget()
        if left is over:
            over.close()
        return True

    # Gestures

    def _lines(self) -> list[Any]:
        grid = self.window.workspace.state.grid
        return [] if grid is None else [line for line in grid.bar_lines if line.bar > 0]

    def _select(self) -> None:
        lines = self._lines()
        if not lines:
            return
        first = self.dice.randrange(len(lines))
        count = self.dice.choice((1, 1, 1, 2, 4))
        self.window.workspace.select([(line.bar, 1) for line in lines[first : first + count]])

    def _command(self) -> None:
        if self.dice.random() < 0.8:
            self._select()
        command = self.dice.choice([command for command in COMMANDS if command.id not in LEFT_OUT])
        self.kinds[command.id] += 1
        keys = self.window.actions_by_id.keys[command.id]
        if not keys:
            self.window.actions_by_id[command.id].trigger()
            return
        self.window.activateWindow()
        chord = QKeySequence(self.dice.choice(keys))[0]
        QTest.keyClick(self.window.focusWidget() or self.window, chord.key(), chord.keyboardModifiers())

    def _drag(self) -> None:
        lines, stage = self._lines(), self.window.timeline.stage
        if lines and stage.isVisible():
            line = self.dice.choice(lines)
            self.window.span.show(line.time - 8, line.time + 12)
            x = self.window.span.x_of(line.time)
            held = self.dice.choice((hand.NONE, Qt.KeyboardModifier.AltModifier))
            hand.drag(stage, x, x + self.dice.uniform(-25, 25), stage.height() / 2, held)

    def _click(self) -> None:
        stage = self.window.timeline.stage
        if stage.isVisible():
            place = self.dice.uniform(0, stage.width()), self.dice.uniform(0, stage.height())
            self.dice.choice((hand.click, hand.double_click))(stage, *place)

    def _wheel(self) -> None:
        span = self.window.span
        span.show(*sorted(self.dice.uniform(0, span.duration or 1.0) for _ in range(2)))
        if self.dice.random() < 0.5:
            self.window.navigation.fit()

    def _lists(self) -> None:
        """A click somewhere in the side panel: rows, buttons, tabs, the slider."""
        tabs = self.window.side_panel.cutting
        tabs.setCurrentIndex(self.dice.randrange(tabs.count()))
        buttons = [each for each in tabs.findChildren(QAbstractButton) if each.isVisible() and each.isEnabled()]
        if buttons and self.dice.random() < 0.5:
            QTest.mouseClick(self.dice.choice(buttons), Qt.MouseButton.LeftButton)
        else:
            self._anywhere(tabs.currentWidget())

    def _lane(self) -> None:
        timeline = self.window.timeline
        self._anywhere(self.dice.choice((timeline.overview, timeline.ruler, timeline.sections, timeline.tempo)))

    def _stack(self) -> None:
        self.window.views.show_bar_stack()
        self._anywhere(self.window.bar_stack.viewport())
        self.dice.choice((self.window.views.show_timeline, self.window.views.show_hand_over))()

    def _anywhere(self, widget: QWidget) -> None:
        if widget.isVisible():
            place = QPoint(
                self.dice.randrange(max(widget.width(), 1)), self.dice.randrange(max(widget.height(), 1))
            )
            child = widget.childAt(place) or widget
            QTest.mouseClick(child, Qt.MouseButton.LeftButton, pos=child.mapFrom(widget, place))

    def _menu(self) -> None:
        self.window.context_menu.popup(self.window.mapToGlobal(QPoint(300, 300)))

    def _size(self) -> None:
        self.window.resize(*self.dice.choice(((1280, 800), (1920, 1080), (780, 480), (1440, 900))))
        self.window.theme.choose(self.dice.choice(("light", "dark")))

    def _save(self) -> None:
        window = self.window
        if window.saving.path is None and window.workspace.history is not None and window.workspace.history.at:
            window.actions_by_id["save_project"].trigger()
            dialog = QApplication.activeModalWidget()
            if isinstance(dialog, QFileDialog):
                dialog.close()

    def _tap(self) -> None:
        """A short pass of taps, read or dropped."""
        window = self.window
        window.actions_by_id["tap_along"].trigger()
        for _ in range(self.dice.randrange(3, 9)):
            QTest.keyClick(window.timeline.stage, Qt.Key.Key_Space)
            QTest.qWait(25)
        QTest.keyClick(window.timeline.stage, Qt.Key.Key_Escape)
        QTest.qWait(20)
        self.dice.choice((window.tapping.place_tapped, window.tapping.drop_taps))()


def counted(window: MainWindow) -> dict[str, float]:
    """What this process holds now."""
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    QApplication.processEvents()
    gc.collect()
    return {
        "memory_mb": memory(),
        "objects": len(gc.get_objects()),
        "qobjects": len(window.findChildren(QObject)),
        "threads": threading.active_count(),
        "files": len(os.listdir("/proc/self/fd")),
        "processes": len(children()),
    }


def grown(rounds: list[dict[str, float]]) -> dict[str, float]:
    """By what share each count is higher in the last quarter than in the quarter after the first."""
    quarter = max(1, int(len(rounds) * WARM))
    early, late = rounds[quarter : 2 * quarter] or rounds, rounds[-quarter:]
    told = {}
    for name in GROWTH:
        before, after = (float(np.median([each[name] for each in part])) for part in (early, late))
        told[name] = after / before - 1 if before else float(after > 0)
    return told


@contextmanager
def caught(faults: list[str]) -> Iterator[None]:
    """Write down what nobody catches."""
    before = sys.excepthook

    def note(kind: type[BaseException], error: BaseException, trace: Any) -> None:
        faults.append("".join(traceback.format_exception(kind, error, trace)))

    sys.excepthook = note
    try:
        yield
    finally:
        sys.excepthook = before


def run(*, minutes: float, gestures: int = 150, seed: int = 1) -> dict[str, Any]:
    """Use the window for so long; what was done, what grew and what went wrong."""
    application()
    begun, rounds, hung = time.monotonic(), [], ""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        takes = [Path(shutil.copy(EXAMPLES / name, home)) for name in TAKES]
        window = build_window(Settings(home / "settings.ini"))
        window.resize(1280, 800)
        window.show()
        soak = Soak(window, home, seed)
        with caught(soak.faults):
            try:
                while time.monotonic() - begun < 60 * minutes or len(rounds) < 8:
                    soak.round(takes[len(rounds) % len(takes)], gestures)
                    rounds.append(counted(window))
            except TimeoutError as error:
                hung = str(error)
            window.close()
            window.deleteLater()
            QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    growth = grown(rounds) if len(rounds) >= 8 else {}
    return {
        "gestures": sum(number for kind, number in soak.kinds.items() if kind not in {c.id for c in COMMANDS}),
        "commands": len(soak.kinds.keys() & {command.id for command in COMMANDS}),
        "rounds": len(rounds),
        "minutes": (time.monotonic() - begun) / 60,
        "first": rounds[0] if rounds else None,
        "last": rounds[-1] if rounds else None,
        "growth": growth,
        "leaks": [name for name, share in growth.items() if share > GROWTH[name]],
        "faults": [*soak.faults, *([f"it never came to this: {hung}"] if hung else [])],
    }


def main(arguments: list[str] | None = None) -> int:
    """Run it and print what was counted."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak", description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0, help="how long (10)")
    parser.add_argument("--gestures", type=int, default=150, help="on each take (150)")
    parser.add_argument("--seed", type=int, default=1, help="of everything random (1)")
    parser.add_argument("--json", action="store_true", help="print one object")
    given = parser.parse_args(arguments)
    told = run(minutes=given.minutes, gestures=given.gestures, seed=given.seed)
    if given.json:
        print(json.dumps(told))
    else:
        for name, value in told.items():
            print(f"{name}: {value}")
    return int(bool(told["leaks"] or told["faults"]))


if __name__ == "__main__":
    sys.exit(main())
