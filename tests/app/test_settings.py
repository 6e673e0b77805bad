"""What is remembered: written and read again, whatever was in the file before."""

import os
import stat
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from PySide6.QtCore import QByteArray

from app.settings import RECENT, Preferences, Settings
from tests.core.take_files import damaged

STARTS = """
import os
from pathlib import Path
from PySide6.QtCore import QCoreApplication
QCoreApplication.setApplicationName("Barwright")
from app.faults import Faults
from app.journal_file import JournalFile
from app.last_run import LastRun
from app.settings import Settings
from core.journal import Kept
from tests.core.test_journal import some
settings = Settings()
settings.remember_folder("takes", Path.cwd())
settings.save()
faults = Faults(settings.state_folder / "logs" / "fault.log")
faults._logger.error("it fell")
LastRun(settings.state_folder / "logs").begin()
JournalFile.new(settings.state_folder / "journals").begin(some())
os._exit(0)
"""


@pytest.fixture
def path(tmp_path):
    return tmp_path / "settings.ini"


def test_preferences_come_back(path):
    chosen = Preferences(appearance="dark", snap=False, doubtful=12, small=2, middle=7, large=31)
    Settings(path).preferences = chosen
    assert Settings(path).preferences == chosen


def test_what_cannot_be_read_is_as_usual(path):
    path.write_text("[preferences]\nsmall=much\ndoubtful=9\nappearance=pink\n", encoding="utf-8")
    kept = Settings(path).preferences
    assert (kept.small, kept.doubtful, kept.appearance) == (Preferences().small, 9, "system")


def test_keys_come_back(path):
    Settings(path).keys = {"undo": ["Ctrl+U", "F5"], "redo": []}
    assert Settings(path).keys == {"undo": ["Ctrl+U", "F5"], "redo": []}


def test_recent_takes_are_few_the_latest_first_each_once_and_there(path, tmp_path):
    settings = Settings(path)
    takes = [tmp_path / f"{i}, with a comma.mid" for i in range(RECENT + 3)]
    for take in takes:
        take.write_bytes(b"")
        settings.remember_take(take)
    settings.remember_take(takes[-2])
    expected = [takes[-2], takes[-1], *reversed(takes[:-2])][:RECENT]
    assert list(Settings(path).recent) == expected
    takes[-2].unlink()
    assert Settings(path).recent[0] == takes[-1]
    settings.forget_takes()
    assert Settings(path).recent == ()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps a user's folder by other means")
def test_nobody_else_can_read_which_takes_there_are(path, tmp_path):
    take = tmp_path / "a.mid"
    take.write_bytes(b"")
    Settings(path).remember_take(take)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_folders_that_are_gone_are_forgotten(path, tmp_path):
    settings = Settings(path)
    there = tmp_path / "there"
    there.mkdir()
    settings.remember_folder("takes", there)
    assert settings.folder("takes") == there
    there.rmdir()
    assert settings.folder("takes") != there


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
def test_nobody_else_can_read_it_even_while_it_is_written(path):
    settings = Settings(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    # Qt writes by itself too, with nobody here to take the rights away afterwards.
    settings.remember_folder("takes", path.parent)
    settings._store.sync()
    assert "takes" in path.read_text(encoding="utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
@pytest.mark.parametrize("there", [False, True], ids=["new", "there before"])
def test_all_that_holds_paths_is_for_the_user_alone(tmp_path, there):
    config, state = tmp_path / "config" / "Barwright", tmp_path / "state" / "Barwright"
    if there:
        for name in ("journals/old.journal", "journals/old.unreadable", "logs/old.fallen", "logs/fault.log"):
            (state / name).parent.mkdir(parents=True, exist_ok=True)
            (state / name).write_text("somebody/take.mid", encoding="utf-8")
        config.mkdir(parents=True)
        (config / "Barwright.ini").write_text("[recent]\n", encoding="utf-8")
        for path in (*config.rglob("*"), *state.rglob("*"), config, state):
            path.chmod(0o777 if path.is_dir() else 0o666)
    places = {"XDG_CONFIG_HOME": str(config.parent), "XDG_STATE_HOME": str(state.parent)}
    subprocess.run(
        [sys.executable, "-c", STARTS],
        env={**os.environ, **places, "QT_QPA_PLATFORM": "offscreen"},
        check=True,
        umask=0o022,
    )
    found = [config, state, *config.rglob("*"), *state.rglob("*")]
    assert {path.suffix for path in found if path.is_file()} >= {".ini", ".log", ".run", ".journal"}
    wrong = {path.name: oct(path.stat().st_mode) for path in found if stat.S_IMODE(path.stat().st_mode) & 0o077}
    # Of a lock anybody may know, in a folder where nobody else can look.
    assert {name for name in wrong if not name.endswith(".lock")} == set()


@pytest.mark.skipif(os.name == "nt", reason="there is no such limit on Windows")
def test_a_disk_that_is_full_leaves_what_was_kept_before(path):
    resource = pytest.importorskip("resource")
    Settings(path).preferences = Preferences(doubtful=7)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    settings = Settings(path)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1, hard))
    try:
        settings.preferences = Preferences(doubtful=9, appearance="dark")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    # What Qt holds in memory is one thing, what is on disk another.
    assert "doubtful=7" in path.read_text(encoding="utf-8")
    settings.preferences = Preferences(doubtful=11)
    assert "doubtful=11" in path.read_text(encoding="utf-8")


@examples(max_examples=60, deadline=None)
@given(st.data())
def test_damage_is_as_usual(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "damaged.ini"
    path.unlink(missing_ok=True)
    whole = Settings(path)
    whole.preferences = Preferences(doubtful=7)
    whole.remember_layout("window", QByteArray(b"any bytes"))
    whole.keys = {"undo": ["Ctrl+U"]}
    path.write_bytes(data.draw(damaged(path.read_bytes())))
    read = Settings(path)
    assert isinstance(read.preferences, Preferences)
    assert isinstance(read.recent, tuple)
    assert isinstance(read.keys, dict)
    assert read.layout("window") is None or isinstance(read.layout("window"), QByteArray)
