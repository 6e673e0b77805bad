"""A session that can be killed: the real window from the command line, real keys and mouse, each gesture told.

``python -m tests.bench.kill_session TAKE PROJECT TOLD SEED``: what a fall has left is taken back by the offer,
else the project is opened, else the take. Then gestures are made until the process is killed; with SEED 0 none is
made and it ends by itself. TOLD gets one JSON object a line: a gesture that begins, the work once it has returned.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import sys
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")

from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from app import cli
from app.history import History
from app.main_window import MainWindow
from app.window import application
from core.edit_codec import document_to_json, edit_to_json
from tests.app.patience import until
from tests.app.timeline import hand

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
NONE = Qt.KeyboardModifier.NoModifier
KEYS = {
    "keep": (Qt.Key.Key_K, NONE),
    "let go": (Qt.Key.Key_L, NONE),
    "alternative": (Qt.Key.Key_N, NONE),
    "hold": (Qt.Key.Key_H, NONE),
    "nudge": (Qt.Key.Key_Right, CTRL),
    "undo": (Qt.Key.Key_Z, CTRL),
    "redo": (Qt.Key.Key_Z, CTRL | SHIFT),
}
LIKELY = {
    "keep": 5,
    "let go": 2,
    "alternative": 3,
    "hold": 2,
    "nudge": 3,
    "undo": 4,
    "redo": 2,
    "drag": 4,
    "save": 2,
}


def summary(history: History) -> dict[str, Any]:
    """What the work is, so that it can be compared: each edit's digest holds those of all before it."""
    chain = [hashlib.sha1(json.dumps(document_to_json(history.first)).encode()).hexdigest()]
    for entry in history.entries:
        chain.append(hashlib.sha1((chain[-1] + json.dumps(edit_to_json(entry.edit))).encode()).hexdigest())
    document = hashlib.sha1(json.dumps(document_to_json(history.document)).encode()).hexdigest()
    return {"at": history.at, "chain": [link[:12] for link in chain], "document": document[:12]}


class Session:
    """The musician."""

    def __init__(self, take: Path, project: Path, told: int, seed: int) -> None:
        self.take, self.project, self._told, self.seed = take, project, told, seed
        self.random = random.Random(seed)

    def tell(self, **words: Any) -> None:
        """Written by the system before this returns, so that a kill cannot take it back."""
        os.write(self._told, (json.dumps(words) + "\n").encode())

    def run(self) -> None:
        try:
            self.window = next(each for each in QApplication.topLevelWidgets() if isinstance(each, MainWindow))
            self.begin()
            parent = os.getppid()
            # Where the bench itself was ended, nobody is left to end this.
            while self.seed and os.getppid() == parent:
                self.gesture()
        except Exception as error:
            self.tell(error=f"{type(error).__name__}: {error}")
        self.window.close()

    def settled(self) -> bool:
        state = self.window.workspace.state
        return self.window.workspace.history is not None and state.grid is not None and not state.pending

    def begin(self) -> None:
        window = self.window
        until(window.isVisible, "the window")
        until(lambda: not window.recovery.looking, "looking for work")
        offered = window.recovery.offer.isVisible()
        if offered:
            QTest.mouseClick(window.recovery.offer.back, Qt.MouseButton.LeftButton)
        else:
            window.open_path(self.project if self.project.exists() else self.take)
        until(self.settled, "bars")
        window.views.show_timeline()
        window.navigation.fit()
        window.activateWindow()
        window.timeline.stage.setFocus()
        self.tell(back=summary(window.workspace.history), offered=offered)

    def gesture(self) -> None:
        """Make one, and tell once it has returned."""
        kind = self.random.choices(list(LIKELY), list(LIKELY.values()))[0]
        window, stage = self.window, self.window.timeline.stage
        lines = [line for line in window.workspace.state.grid.bar_lines if line.bar > 0]
        line = self.random.choice(lines)
        if kind not in ("undo", "redo", "save", "drag"):
            window.workspace.select([(line.bar, 1)])
        self.tell(begin=kind)
        if kind == "save":
            self.save()
        elif kind == "drag":
            x = window.span.x_of(line.time)
            hand.drag(stage, x, x + self.random.choice((-9, -6, 6, 9)), stage.height() / 2)
        else:
            QTest.keyClick(stage, *KEYS[kind])
        self.tell(done=summary(window.workspace.history), saved=not window.saving.unsaved)
        until(self.settled, f"bars after {kind}")
        QTest.qWait(self.random.randrange(30))

    def save(self) -> None:
        window = self.window
        QTest.keyClick(window.timeline.stage, Qt.Key.Key_S, CTRL)
        if window.saving.path is None and window.workspace.history.at:
            until(lambda: isinstance(QApplication.activeModalWidget(), QFileDialog), "the dialog")
            field = QApplication.activeModalWidget().findChild(QLineEdit, "fileNameEdit")
            field.setText(str(self.project))
            QTest.keyClick(field, Qt.Key.Key_Return)
        QTest.qWait(self.random.randrange(40))


def main() -> int:
    take, project, told, seed = sys.argv[1:]
    # Only added to, so that what was told before a kill stays.
    told = os.open(told, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    session = Session(Path(take), Path(project), told, int(seed))
    application()
    QTimer.singleShot(0, session.run)
    return cli.main([])


if __name__ == "__main__":
    sys.exit(main())
