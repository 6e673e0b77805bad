"""A project belongs to one window at a time; what a fall has left is taken over, and who has it is said."""

import os
import shutil
import signal
import socket
import stat
import subprocess
import sys

import pytest
from PySide6.QtCore import QLockFile

from app.claims import Claims, lock_name
from app.private import new_file, private_folder, taken, without_home
from core.project_file import read_project
from tests.app.shell import WAIT, close_dialogs, opened, settled, to_front
from tests.app.takes import play_midi
from tests.app.test_saving import choose, click, keep_line, said, save, save_as, saved

HOLDER = """
import sys
from pathlib import Path
from app.claims import Claims
claims = Claims()
print(repr(claims.claim(Path(sys.argv[1]))), flush=True)
sys.stdin.read()
"""


@pytest.fixture
def project(tmp_path):
    path = tmp_path / "evening.barwright"
    path.write_bytes(b"{}")
    return path


def holder(path):
    """Another process that has a project open."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "''\n"
    return process


def end(process, number=signal.SIGTERM):
    process.send_signal(number)
    process.wait()
    process.stdin.close()
    process.stdout.close()


def test_another_process_is_told_who_has_it_and_has_it_after_a_kill(project):
    process = holder(project)
    claims = Claims()
    assert claims.claim(project) == "another window of Barwright"
    end(process, signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
    # The lock is still there, its process is not.
    assert lock_name(project).exists()
    assert claims.claim(project) == ""
    claims.keep(())
    assert not lock_name(project).exists()


def test_another_machine_is_named(project):
    host = socket.gethostname()
    # As QLockFile writes it (Qt documentation, "QLockFile"; from memory): process, program, machine.
    lock_name(project).write_text("4711\nbarwright\nstudio-two\n")
    claims = Claims()
    owner = claims.claim(project)
    assert "studio-two" in owner
    assert host not in owner
    claims.seize(project)
    assert claims.claim(project) == ""
    claims.keep(())


def test_a_link_is_the_same_project(project, tmp_path):
    if os.name == "nt":
        pytest.skip("links need a right on Windows")
    link = tmp_path / "link.barwright"
    link.symlink_to(project)
    first, second = Claims(), Claims()
    assert first.claim(link) == ""
    assert second.claim(project) == "another window of Barwright"
    first.keep([project])
    assert second.claim(project) == "another window of Barwright"
    first.keep(())


def test_whoever_has_it_clears_up_what_a_fall_left(project):
    left = project.with_name(f".{project.name}.0123abcd.part")
    left.touch()
    before = project.with_name(f".{project.name}~.0123abcd.part")
    before.touch()
    project.with_name(project.name + "~").touch()
    claims = Claims()
    claims.claim(project)
    assert not left.exists()
    assert not before.exists()
    claims.keep(())


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_where_nothing_can_be_written_no_lock_is_wanted(project):
    project.parent.chmod(0o500)
    try:
        assert Claims().claim(project) == ""
    finally:
        project.parent.chmod(0o700)


def test_a_lock_torn_by_a_fall_of_the_machine_is_no_lock(project):
    lock_name(project).touch()
    os.utime(lock_name(project), (0, 1_600_000_000))
    claims = Claims()
    assert claims.claim(project) == ""
    claims.keep(())


def test_a_lock_of_a_process_with_our_number_from_before_is_no_lock(project, tmp_path):
    mine = QLockFile(str(tmp_path / "mine"))
    assert mine.tryLock(0)
    shutil.copyfile(tmp_path / "mine", lock_name(project))
    mine.unlock()
    lock = taken(project.with_name(f".{project.name}"))
    assert lock is not None
    # But one that this process holds is one.
    assert taken(project.with_name(f".{project.name}")) is None
    lock.unlock()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such rights")
def test_what_is_private_is_for_the_user_alone(tmp_path):
    folder = tmp_path / "a" / "b"
    folder.mkdir(parents=True, mode=0o755)
    private_folder(folder)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    os.close(new_file(folder / "file"))
    assert stat.S_IMODE((folder / "file").stat().st_mode) == 0o600
    # Never a file, or a link, that somebody put there first.
    (folder / "link").symlink_to(tmp_path / "elsewhere")
    for name in ("file", "link"):
        with pytest.raises(FileExistsError):
            new_file(folder / name)
    assert not (tmp_path / "elsewhere").exists()


def test_the_home_folder_is_not_told(monkeypatch, tmp_path):
    monkeypatch.setattr("app.private.Path.home", lambda: tmp_path)
    assert without_home(f"in {tmp_path}/takes/evening.mid") == "in ~/takes/evening.mid"


class TestWindow:
    @pytest.fixture
    def window(self, shared):
        yield shared
        close_dialogs()
        shared.workspace.close_take()

    @pytest.fixture
    def path(self, qtbot, window, tmp_path):
        """A project that is saved and closed."""
        take = play_midi(tmp_path / "evening.mid", phrases=2).path
        opened(qtbot, window, take)
        window.views.show_timeline()
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        assert lock_name(take.with_name("a.barwright")).exists()
        window.workspace.close_take()
        assert not lock_name(take.with_name("a.barwright")).exists()
        return take.with_name("a.barwright")

    def reopened(self, qtbot, window, path):
        window.open_path(path)
        qtbot.waitUntil(lambda: window.saving.path == path and settled(window), timeout=WAIT)
        to_front(qtbot, window)

    def test_the_second_window_looks_and_saves_under_another_name(self, qtbot, window, path):
        process = holder(path)
        try:
            self.reopened(qtbot, window, path)
            assert any("a.barwright is open in another window of Barwright" in text for text in said(window))
            assert "a.barwright (read only)" in window.windowTitle()
            keep_line(qtbot, window, 5)
            before = path.read_bytes()
            save(qtbot, window)
            assert "another window" in click(qtbot, "Do not save").text()
            save(qtbot, window)
            click(qtbot, "Save under another name")
            choose(qtbot, path.with_name("mine.barwright"))
            saved(qtbot, window, path.with_name("mine.barwright"))
            assert path.read_bytes() == before
            assert "read only" not in window.windowTitle()
        finally:
            end(process)

    def test_when_the_other_window_has_closed_it_is_saved_as_ever(self, qtbot, window, path):
        process = holder(path)
        self.reopened(qtbot, window, path)
        keep_line(qtbot, window, 5)
        end(process)
        save(qtbot, window)
        saved(qtbot, window, path)
        assert len(read_project(path)[0].edits) == 2

    def test_saved_all_the_same_what_the_other_has_written_is_still_asked_about(self, qtbot, window, path):
        process = holder(path)
        try:
            self.reopened(qtbot, window, path)
            keep_line(qtbot, window, 5)
            path.write_bytes(path.read_bytes().replace(b'"at":1', b'"at":0'))
            save(qtbot, window)
            click(qtbot, "Save all the same")
            assert "other work" in click(qtbot, "Replace").text()
            saved(qtbot, window, path)
        finally:
            end(process)
