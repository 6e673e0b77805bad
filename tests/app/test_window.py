"""The window from the command line: with a take, without one, and what is no take."""

import sys

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app import cli, window
from app.main_window import MainWindow
from app.settings import Settings
from core.document import Document
from core.edits import NameSection
from core.project import Project
from core.project_file import write_project
from core.recording import refer
from tests.app.takes import play_midi


class Watch(QTimer):
    """Closes the window once something holds, or after so many looks."""

    def __init__(self, holds):
        super().__init__()
        self.holds, self.seen, self.looks = holds, False, 0
        self.setInterval(50)
        self.timeout.connect(self.look)
        self.start()

    def look(self):
        self.looks += 1
        for shown in QApplication.topLevelWidgets():
            if isinstance(shown, MainWindow) and shown.isVisible():
                self.seen = self.holds(shown)
                if self.seen or self.looks > 400:
                    self.stop()
                    shown.close()


@pytest.fixture
def home(monkeypatch, tmp_path):
    hooks = sys.excepthook
    monkeypatch.setattr(window, "Settings", lambda: Settings(tmp_path / "settings.ini"))
    monkeypatch.setattr(window.signal, "signal", lambda *_: None)
    yield tmp_path
    assert sys.excepthook is hooks


def test_a_take_is_opened_by_its_path(qapp, home):
    take = play_midi(home / "take.mid", phrases=2)
    watch = Watch(lambda shown: shown.workspace.state.grid is not None)
    assert cli.main([str(take.path)]) == 0
    assert watch.seen


def test_a_project_is_opened_by_its_path(qapp, home):
    take = play_midi(home / "take.mid", phrases=2)
    section = NameSection(2, "Bridge")
    document = section.apply(Document())
    project = Project(
        recording=refer(take.path, home), document=document, first=Document(), edits=(section,), at=1
    )
    write_project(home / "evening.barwright", project)
    watch = Watch(lambda shown: shown.workspace.state.document == document and not shown.isWindowModified())
    assert cli.main([str(home / "evening.barwright")]) == 0
    assert watch.seen


def test_without_a_take_the_window_is_empty(qapp, home):
    watch = Watch(lambda shown: shown.views.stack.currentWidget() is shown.empty)
    assert cli.main([]) == 0
    assert watch.seen


def test_a_path_that_is_not_there_is_refused_without_a_window(capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(window, "run", lambda _: pytest.fail("a window was opened"))
    assert cli.main([str(tmp_path / "nothing.mid")]) == cli.BAD_INPUT
    assert "nothing.mid" in capsys.readouterr().err


def test_a_command_is_a_command_even_where_a_file_has_its_name(capsys, monkeypatch, tmp_path):
    (tmp_path / "map").write_bytes(b"")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(window, "run", lambda _: pytest.fail("a window was opened"))
    assert cli.main(["map"]) == cli.BAD_INPUT
