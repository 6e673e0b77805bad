"""What is remembered: written and read again, whatever was in the file before."""

import stat
import sys

import pytest

from app.settings import RECENT, Preferences, Settings


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
