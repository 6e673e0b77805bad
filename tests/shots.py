"""Pictures of the window, made through the real app: ``python -m tests.shots OUT``.

The examples are opened, their bars are suggested by the real worker process and a few lines are placed as their
lists of pins say. The same machine and fonts give the same pictures.
Exit status: 0 made, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")

from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.main_window import MainWindow
from app.settings import Settings
from app.window import application, build_window
from core.edits import ChangeMetre, Edit, MarkPickup, NameSection, Place
from core.grid import Pin
from core.metre import TimeSignature
from tests.app.tapping.fake_player import FakePlayer
from tests.app.timeline import hand

EXAMPLES = Path(__file__).parent.parent / "examples"
FILES = ("low-tide.mid", "net-mending.ogg")
USUAL, SMALL, LARGE, LEAST = (1440, 900), (1280, 800), (1920, 1080), (780, 480)
PATIENCE = 60.0
"""Seconds after which something that should have happened is given up."""


def _true_bars(name: str) -> list[float]:
    rows = (EXAMPLES / name).read_text(encoding="utf-8").split()[1:]
    return [float(row.partition(",")[0]) for row in rows]


TRUE_BARS = _true_bars("low-tide.bars.csv")
"""Where the bars of the take truly begin."""


class TooSlow(TimeoutError):
    """Something did not happen in time."""


def wait(done: Callable[[], bool], what: str) -> None:
    """Let the window work until something is done."""
    end = time.monotonic() + PATIENCE
    while not done():
        if time.monotonic() > end:
            raise TooSlow(what)
        QTest.qWait(20)


class Studio:
    """One window on one take, and the folder its pictures go to."""

    def __init__(self, folder: Path, out: Path, name: str) -> None:
        self.folder, self.out = folder, out
        self.made: list[Path] = []
        QApplication.setCursorFlashTime(0)
        self.window: MainWindow = build_window(Settings(folder / f"{name}.ini"))
        self.window.theme.choose("light")
        self.size(USUAL)
        self.window.show()
        self.window.activateWindow()

    def size(self, size: tuple[int, int]) -> None:
        self.window.resize(*size)
        QTest.qWait(50)

    def open(self, name: str) -> None:
        """Open an example and wait for its bars and its picture."""
        self.window.open_path(self.folder / name)
        workspace = self.window.workspace
        wait(lambda: workspace.state.take is not None and workspace.state.take.path.name == name, f"{name} opens")
        self.settle()
        wait(lambda: workspace.pictured is not None, f"the picture of {name}")
        QTest.qWait(300)

    def settle(self) -> None:
        state = self.window.workspace
        wait(lambda: state.state.grid is not None and not state.state.pending, "bars are suggested")

    def do(self, *edits: Edit) -> None:
        for edit in edits:
            self.window.workspace.do(edit)
            self.settle()

    def shoot(self, name: str) -> None:
        QTest.qWait(60)
        target = self.out / f"{name}.png"
        if not self.window.grab().save(str(target)):
            raise OSError(f"{target} cannot be written.")
        self.made.append(target)

    def close(self) -> None:
        self.window.close()
        self.window.deleteLater()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def pins_of(name: str) -> list[Pin]:
    """Return the bar lines of an example's list, in order."""
    rows = (EXAMPLES / name).read_text(encoding="utf-8").split()[1:]
    return [Pin(float(time), int(bar)) for time, bar in (row.split(",") for row in rows)]


def take_midi(studio: Studio) -> None:
    """Pictures of ten minutes at the piano: as suggested, put right, stacked, handed over, dark."""
    window = studio.window
    studio.shoot("empty")
    studio.open("low-tide.mid")
    window.workspace.select([])
    window.navigation.fit()
    studio.shoot("midi-whole-take")
    pins = [Place(pin) for pin in pins_of("low-tide.pins.csv")]
    four, three = TimeSignature(4, 4), TimeSignature(3, 4)
    studio.do(pins[0], pins[1], MarkPickup(Fraction(1)), ChangeMetre(72, three), ChangeMetre(144, four), *pins[2:])
    studio.do(
        NameSection(1, "Opening"), NameSection(40, "Ebb"), NameSection(72, "In three"), NameSection(144, "Flood")
    )
    _thirty_seconds(window, bar=40)
    studio.shoot("midi-take")
    _drag(studio)
    studio.size(LARGE)
    studio.shoot("midi-take-1920x1080")
    window.theme.choose("dark")
    studio.size(USUAL)
    studio.shoot("midi-take-dark")
    window.theme.choose("light")
    _sections(studio)
    _taps(studio)
    _stack(studio)
    window.views.show_hand_over()
    # The folder the takes were copied to has another name each time, and is nobody's.
    field = window.hand_over.form.folder
    field.selectAll()
    QTest.keyClicks(field, "~/Music/Low Tide")
    QTest.keyClick(field, Qt.Key.Key_Return)
    field.clearFocus()
    wait(lambda: window.hand_over.plan is not None, "the hand-over is planned")
    studio.shoot("hand-over")
    window.theme.choose("dark")
    studio.shoot("hand-over-dark")
    window.theme.choose("light")
    window.views.show_timeline()
    for size, name in ((SMALL, "small-window"), (LEAST, "least-window")):
        studio.size(size)
        _thirty_seconds(window, bar=40)
        studio.shoot(name)
    studio.size(USUAL)


def _thirty_seconds(window: MainWindow, *, bar: int) -> None:
    window.navigation.go_to_place((bar, 1))
    line = next(line for line in window.workspace.state.grid.bar_lines if line.bar == bar)
    window.span.show(line.time - 12, line.time + 18)


def _drag(studio: Studio) -> None:
    """A bar line in the hand, snapped to an onset; it is put back."""
    window, stage = studio.window, studio.window.timeline.stage
    line = next(line for line in window.workspace.state.grid.bar_lines if line.bar == 43)
    onset = next(time for time in window.workspace.state.onsets.time if time > line.time + 0.2)
    x, y, goal = window.span.x_of(line.time), stage.height() / 2, window.span.x_of(onset) - 2
    hand.press(stage, x, y)
    for share in (0.3, 0.7, 1.0):
        hand.move(stage, x + share * (goal - x), y)
    studio.shoot("midi-take-drag")
    QTest.keyClick(stage, Qt.Key.Key_Escape)
    hand.release(stage, goal, y)


def _sections(studio: Studio) -> None:
    """Suggested sections between those that have a name, then all of them taken over; undone again."""
    window, room = studio.window, studio.window.sections
    window.side_panel.cutting.setCurrentWidget(room.table)
    studio.shoot("sections")
    window.navigation.fit()
    room.hand.suggest_sections()
    wait(lambda: bool(room.hand.sections), "sections are suggested")
    studio.shoot("sections-suggested")
    room.hand.take_over_sections()
    studio.settle()
    studio.shoot("sections-taken-over")
    window.theme.choose("dark")
    studio.shoot("sections-taken-over-dark")
    window.theme.choose("light")
    window.workspace.undo()
    studio.settle()
    room.hand.drop_sections()
    window.side_panel.cutting.setCurrentWidget(window.side_panel.cutting.pauses)
    _thirty_seconds(window, bar=40)


def _taps(studio: Studio) -> None:
    """A pass of taps, ready, running and read; they are dropped."""
    window, tapping, player = studio.window, studio.window.tapping, FakePlayer()
    tapping.play_with(player, player)
    window.workspace.select([])
    tapping.tap_along()
    studio.shoot("taps-ready")
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Space)
    shown = [bar for bar in TRUE_BARS if window.span.start < bar < window.span.end]
    for i, bar in enumerate(shown):
        player.heard = bar - 0.04 + 0.02 * (i % 3 - 1)
        QTest.keyClick(window.windowHandle(), Qt.Key.Key_Space)
    window.timeline.set_playhead(shown[-1] + 0.4)
    studio.shoot("taps-running")
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Escape)
    window.timeline.set_playhead(None)
    wait(lambda: bool(tapping.waiting.lines), "the taps are read")
    studio.shoot("taps-read")
    window.theme.choose("dark")
    studio.shoot("taps-read-dark")
    window.theme.choose("light")
    studio.size(LEAST)
    studio.shoot("taps-read-least")
    studio.size(USUAL)
    tapping.drop_taps()
    tapping.close_bar()


def _stack(studio: Studio) -> None:
    window = studio.window
    stack = window.bar_stack
    window.views.show_bar_stack()
    window.workspace.select([(72, 1)])
    stack.setFocus()
    _drag_in_stack(studio)
    for _ in range(4):
        QTest.keyClick(stack, Qt.Key.Key_Minus)
    studio.shoot("bar-stack-many")
    for _ in range(4):
        QTest.keyClick(stack, Qt.Key.Key_Plus)
    window.theme.choose("dark")
    studio.shoot("bar-stack-dark")
    window.theme.choose("light")


def _drag_in_stack(studio: Studio) -> None:
    """The line that ends a bar, in the hand; it is put back."""
    stack = studio.window.bar_stack
    studio.shoot("bar-stack")
    rows = stack.viewport()
    x, y, goal = stack.x_of(1.0), stack.y_of(66), stack.x_of(0.94)
    hand.press(rows, x, y)
    for share in (0.3, 0.7, 1.0):
        hand.move(rows, x + share * (goal - x), y)
    studio.shoot("bar-stack-drag")
    QTest.keyClick(stack, Qt.Key.Key_Escape)
    hand.release(rows, goal, y)


def take_audio(studio: Studio) -> None:
    """Pictures of a guitar take: all of it, and ten seconds of it."""
    window = studio.window
    studio.open("net-mending.ogg")
    window.views.show_timeline()
    window.workspace.select([])
    window.navigation.fit()
    studio.shoot("audio-whole-take")
    studio.do(*(Place(pin) for pin in pins_of("net-mending.pins.csv")[:2]))
    bars = window.workspace.state.grid.bar_lines
    window.navigation.go_to_place((bars[6].bar, 1))
    window.span.show(bars[6].time - 4, bars[6].time + 6)
    studio.shoot("audio-take")
    window.views.show_bar_stack()
    studio.shoot("audio-bar-stack")
    window.views.show_timeline()


def studio(folder: Path, out: Path, name: str) -> Studio:
    """A window with copies of the examples beside it."""
    application()
    for example in FILES:
        shutil.copy(EXAMPLES / example, folder / example)
    return Studio(folder, out, name)


def make(out: Path) -> list[Path]:
    """Make all pictures in a folder, and say which."""
    made = []
    for name, work in (("midi", take_midi), ("audio", take_audio)):
        with tempfile.TemporaryDirectory() as scratch:
            there = studio(Path(scratch), out, name)
            try:
                work(there)
            finally:
                there.close()
        made += there.made
    return made


def main(argv: list[str] | None = None) -> int:
    """Make the pictures and print where they are."""
    parser = argparse.ArgumentParser(prog="shots", description="Make pictures of the window.")
    parser.add_argument("out", type=Path, metavar="OUT", help="folder for the pictures")
    args = parser.parse_args(argv)
    try:
        args.out.mkdir(parents=True, exist_ok=True)
        made = make(args.out)
    except OSError as error:
        print(f"shots: {error}", file=sys.stderr)
        return 2
    print("\n".join(map(str, made)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
