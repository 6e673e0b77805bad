"""A run that did not end by itself is told of at the next start, with what it left; one that did is not."""

import stat
import subprocess
import sys

import pytest

from app.last_run import KEPT, LastRun

RUN = """
import os, sys, faulthandler
from pathlib import Path
from app.last_run import LastRun
run = LastRun(Path(sys.argv[1]))
print(run.begin() is None, flush=True)
match sys.argv[2]:
    case "end": run.end()
    case "crash": faulthandler._sigsegv()
    case "kill": os._exit(1)
"""


def run(folder, how):
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(folder), how], capture_output=True, text=True, check=False
    )
    return done.stdout.strip()


@pytest.fixture
def told(tmp_path):
    """Begin another run, and end it again."""

    def begun():
        this = LastRun(tmp_path)
        message = this.begin()
        this.end()
        return message

    return begun


def test_an_end_by_itself_leaves_nothing(tmp_path, told):
    assert run(tmp_path, "end") == "True"
    assert list(tmp_path.iterdir()) == []
    assert told() is None


@pytest.mark.skipif(sys.platform == "win32", reason="the fault is raised otherwise there")
def test_a_crash_tells_where_it_was_and_only_once(tmp_path, told):
    run(tmp_path, "crash")
    message = told()
    assert message.warning
    assert "did not end by itself" in message.text
    # What faulthandler writes (Python documentation, "faulthandler").
    assert "Fatal Python error: Segmentation fault" in message.details
    assert message.details.startswith("Barwright ")
    assert told() is None


def test_a_kill_is_told_too(tmp_path, told):
    run(tmp_path, "kill")
    assert "ended from outside" in told().details
    if sys.platform != "win32":
        (log,) = tmp_path.glob("*.fallen")
        assert stat.S_IMODE(log.stat().st_mode) == 0o600


def test_a_run_that_goes_on_is_none_that_fell(tmp_path, told):
    this = LastRun(tmp_path)
    this.begin()
    assert told() is None
    this.end()


def test_the_last_few_are_kept(tmp_path, told):
    for second in range(KEPT + 3):
        (tmp_path / f"20260101-00000{second}-00000000.run").write_text("Barwright\n")
    assert told() is not None
    run(tmp_path, "kill")
    assert told() is not None
    assert len(list(tmp_path.glob("*.fallen"))) == KEPT


def test_where_nothing_can_be_written_nothing_is_told(tmp_path):
    (tmp_path / "file").touch()
    this = LastRun(tmp_path / "file")
    assert this.begin() is None
    this.end()
