"""The worker process from the window's side: where it finds its code, how it ends, and what is dropped."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.analysis import Analysis
from app.questions import Heard, Proposed, Stage
from tests.app.takes import play_midi

ROOT = Path(__file__).parent.parent.parent

# A window that is killed like any process that the system wants gone (signal(7): SIGKILL cannot be caught).
KILLED = """
import os, signal, sys
sys.path.insert(0, sys.argv[1])
from PySide6.QtCore import QCoreApplication
from app.analysis import Analysis
app = QCoreApplication([])
analysis = Analysis()
analysis.progressed.connect(print)
while not analysis.pid:
    app.processEvents()
print(analysis.pid, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def analysis(qapp):
    analysis = Analysis()
    analysis.said = []
    analysis.answered.connect(analysis.said.append)
    analysis.ends = []
    analysis.died.connect(analysis.ends.append)
    yield analysis
    analysis.stop()
    assert analysis.pid == 0


@pytest.fixture
def take(tmp_path):
    return play_midi(tmp_path / "take.mid", phrases=1).path


def test_the_worker_finds_its_code_wherever_it_is_started(qtbot, tmp_path, take, monkeypatch):
    (tmp_path / "app").mkdir()
    (tmp_path / "app" / "__init__.py").write_text("raise SystemExit('this is not our code')")
    monkeypatch.chdir(tmp_path)
    analysis = Analysis()
    answers, ends = [], []
    analysis.answered.connect(answers.append)
    analysis.died.connect(ends.append)
    analysis.listen(take)
    qtbot.waitUntil(lambda: bool(answers or ends), timeout=20_000)
    analysis.stop()
    assert not ends
    assert isinstance(answers[0], Heard)


def test_answers_to_anything_but_the_newest_question_are_dropped(analysis, qtbot, take):
    analysis.listen(take)
    qtbot.waitUntil(lambda: bool(analysis.said), timeout=20_000)
    onsets = analysis.said[0].onsets
    for _ in range(3):
        analysis.propose(onsets)
    qtbot.waitUntil(lambda: not analysis.busy, timeout=20_000)
    assert [type(answer) for answer in analysis.said] == [Heard, Proposed]
    analysis._take(Stage(analysis.said[-1].number, "late", 0.5))
    analysis._take(analysis.said[-1])
    assert len(analysis.said) == 2


def test_a_process_that_cannot_be_started_is_told(qtbot, monkeypatch):
    monkeypatch.setattr(sys, "executable", str(ROOT / "no-such-python"))
    analysis = Analysis()
    ends = []
    analysis.died.connect(ends.append)
    qtbot.waitUntil(lambda: bool(ends))
    assert "no-such-python" in ends[0]
    assert not analysis.busy
    analysis.stop()


def test_what_it_wrote_last_is_told_when_it_dies(analysis, qtbot, take):
    analysis.listen(take)
    qtbot.waitUntil(lambda: bool(analysis.said), timeout=20_000)
    # Faults of the interpreter itself go to standard error; SIGTERM ends a process that does not catch it.
    os.kill(analysis.pid, signal.SIGTERM)
    qtbot.waitUntil(lambda: bool(analysis.ends))
    assert "ended" in analysis.ends[0]
    assert analysis.pid == 0
    analysis.propose(analysis.said[0].onsets)
    qtbot.waitUntil(lambda: len(analysis.said) == 2, timeout=20_000)
    assert isinstance(analysis.said[1], Proposed)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for the process in /proc, which this system has not")
def test_the_worker_does_not_outlive_a_window_that_is_killed():
    window = subprocess.run(
        [sys.executable, "-c", KILLED, str(ROOT)], capture_output=True, text=True, timeout=30, check=False
    )
    assert window.returncode == -signal.SIGKILL, window.stderr
    stat = Path("/proc") / window.stdout.strip() / "stat"
    until = time.monotonic() + 20
    while stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "Z":
        assert time.monotonic() < until, "the worker still runs"
        time.sleep(0.05)
