"""Work that was not saved comes back whole at the next start, in the real window; nothing is dropped unasked."""

import json
import os
import shutil
import stat
import sys
from datetime import datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QMessageBox

from app.journal_file import JournalFile
from app.recovery_jobs import look
from app.recovery_offer import moment
from core.journal import read_journal
from core.project_codec import VERSION
from core.project_file import read_project
from tests.app.shell import WAIT, close_dialogs, opened, press, settled, to_front
from tests.app.test_saving import choose, click, keep_line, said, save, save_as, saved

Key, CTRL, SHIFT = Qt.Key, Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def window(shared):
    yield shared
    close_dialogs()
    shared.workspace.close_take()
    for path in journals(shared):
        path.unlink()


@pytest.fixture
def take(qtbot, window, played, tmp_path):
    path = tmp_path / "evening.mid"
    shutil.copyfile(played, path)
    opened(qtbot, window, path)
    window.views.show_timeline()
    to_front(qtbot, window)
    return path


def journals(window):
    return sorted((window.settings.state_folder / "journals").glob("*.journal"))


def held(window):
    """What the one journal holds, read as another process would."""
    (path,) = journals(window)
    return read_journal(path.read_bytes())


def agree(window):
    """Whether the journal holds the work that is shown, undo included."""
    work, history = held(window).work, window.workspace.history
    return (work.document, work.first, work.edits, work.at) == (
        history.document,
        history.first,
        tuple(entry.edit for entry in history.entries),
        history.at,
    )


def fallen(window):
    """The journal as it lies there after a kill: without whoever held its lock."""
    data = {path: path.read_bytes() for path in journals(window)}
    window.workspace.close_take()
    for path, each in data.items():
        path.write_bytes(each)


def look_again(qtbot, window):
    window.recovery.look()

    qtbot.waitUntil(window.recovery.offer.isVisible, timeout=WAIT)


def take_back(qtbot, window):
    look_again(qtbot, window)
    qtbot.mouseClick(window.recovery.offer.back, Qt.MouseButton.LeftButton)


class TestJournal:
    def test_every_gesture_is_in_it_when_it_returns(self, qtbot, window, take):
        assert journals(window) == []
        keep_line(qtbot, window, 3)
        assert agree(window)
        for bar in (4, 5, 6):
            keep_line(qtbot, window, bar)
            assert agree(window)
        press(qtbot, window, Key.Key_Z, CTRL)
        assert agree(window)
        press(qtbot, window, Key.Key_Z, CTRL)
        assert agree(window)
        press(qtbot, window, Key.Key_Z, CTRL | SHIFT)
        assert agree(window)
        keep_line(qtbot, window, 7)
        assert agree(window)
        assert held(window).steps == 8
        window.workspace.go_to(1)
        assert agree(window)

    def test_choices_of_the_hand_over_are_in_it_too(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        window.views.show_hand_over()
        qtbot.mouseClick(window.hand_over.form.click, Qt.MouseButton.LeftButton)
        assert held(window).choices == window.hand_over.settings
        assert held(window).choices["click"] is True

    def test_saved_work_needs_none_and_what_comes_after_does(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        assert journals(window) == []
        keep_line(qtbot, window, 4)
        assert held(window).path == str(take.with_name("a.barwright"))
        assert held(window).stamp == window.saving.kept.stamp
        assert held(window).steps == 1
        save(qtbot, window)
        saved(qtbot, window, take.with_name("a.barwright"))
        assert journals(window) == []

    def test_leaving_a_take_knowingly_ends_it(self, qtbot, window, take, played):
        keep_line(qtbot, window, 3)
        window.open_path(played)
        click(qtbot, "Leave without saving")
        # Until the other take has its bars this one may come back.
        assert len(journals(window)) == 1
        qtbot.waitUntil(lambda: window.workspace.state.take.path == played and settled(window), timeout=WAIT)
        assert journals(window) == []

    def test_a_take_that_cannot_be_opened_leaves_the_work_and_its_journal(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        bad = take.with_name("bad.mid")
        bad.write_bytes(b"MThd")
        window.open_path(bad)
        click(qtbot, "Leave without saving")
        qtbot.waitUntil(lambda: "bad.mid" in said(window)[-1], timeout=WAIT)
        keep_line(qtbot, window, 4)
        assert agree(window)

    def test_a_full_disk_is_said_once_and_all_is_kept_as_soon_as_there_is_room(
        self, qtbot, window, take, monkeypatch
    ):
        keep_line(qtbot, window, 3)

        def full(*_):
            raise OSError(28, "No space left on device")

        before = len(said(window))
        with monkeypatch.context() as patch:
            patch.setattr("app.journal_file._write", full)
            keep_line(qtbot, window, 4)
            keep_line(qtbot, window, 5)
            assert held(window).work.at == 1
        told = [text for text in said(window)[before:] if "cannot be kept" in text]
        assert len(told) == 1
        assert "No space left" in told[0]
        keep_line(qtbot, window, 6)
        assert agree(window)

    def test_it_does_not_grow_for_ever(self, qtbot, window, take, monkeypatch):
        monkeypatch.setattr("app.journal_file.ROOM", 200)
        keep_line(qtbot, window, 3)
        sizes = []
        for _ in range(40):
            window.workspace.undo()
            window.workspace.redo()
            sizes.append(journals(window)[0].stat().st_size)
        assert agree(window)
        assert held(window).steps == 81
        assert max(sizes) - min(sizes) < 300

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such rights")
    def test_nobody_else_may_read_it(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        (path,) = journals(window)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


class TestTakingBack:
    def test_all_of_it_comes_back_and_can_be_undone(self, qtbot, window, take):
        for bar in (2, 4, 6):
            keep_line(qtbot, window, bar)
        press(qtbot, window, Key.Key_Z, CTRL)
        history = window.workspace.history
        window.hand_over.settings = {**window.hand_over.settings, "division": 480}
        keep_line(qtbot, window, 7)
        history, choices = window.workspace.history, window.hand_over.settings
        fallen(window)
        window.hand_over.settings = {}
        look_again(qtbot, window)
        assert (
            "5 steps on evening.mid, until " in window.recovery.offer.words.whole()
            or "6 steps" in window.recovery.offer.words.whole()
        )
        qtbot.mouseClick(window.recovery.offer.back, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: window.workspace.history == history and settled(window), timeout=WAIT)
        assert not window.recovery.offer.isVisible()
        assert window.workspace.state.take.path == take
        assert window.hand_over.settings == choices
        assert window.isWindowModified()
        # Its journal goes on.
        assert agree(window)
        to_front(qtbot, window)
        press(qtbot, window, Key.Key_Z, CTRL)
        assert agree(window)
        save_as(qtbot, window, take.with_name("a.barwright"))
        assert journals(window) == []

    def test_work_on_a_project_is_saved_over_it_without_a_question(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        keep_line(qtbot, window, 4)
        fallen(window)
        take_back(qtbot, window)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert window.isWindowModified()
        save(qtbot, window)
        saved(qtbot, window, project)
        assert len(read_project(project)[0].edits) == 2

    def test_a_project_saved_elsewhere_since_is_not_replaced_unasked(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        first = project.read_bytes()
        keep_line(qtbot, window, 4)
        fallen(window)
        project.write_bytes(first.replace(b'"at":1', b'"at":0'))
        take_back(qtbot, window)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        save(qtbot, window)
        assert "other work" in click(qtbot, "Do not save").text()

    def test_a_take_that_has_been_moved_is_found_or_asked_for(self, qtbot, window, take, tmp_path):
        keep_line(qtbot, window, 3)
        qtbot.waitUntil(lambda: set(held(window).work.recording.sha256) != {"0"}, timeout=WAIT)
        fallen(window)
        take.rename(tmp_path / "renamed.mid")
        take_back(qtbot, window)
        qtbot.waitUntil(lambda: window.workspace.history is not None and settled(window), timeout=WAIT)
        assert window.workspace.state.take.path == tmp_path / "renamed.mid"
        fallen(window)
        (tmp_path / "far" / "off").mkdir(parents=True)
        (tmp_path / "renamed.mid").rename(tmp_path / "far" / "off" / "x.mid")
        take_back(qtbot, window)
        click(qtbot, "Find it…")
        choose(qtbot, tmp_path / "far" / "off" / "x.mid")
        qtbot.waitUntil(lambda: window.workspace.history is not None and settled(window), timeout=WAIT)
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        assert len(journals(window)) == 1

    def test_left_unfound_it_is_offered_again_at_the_next_start(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        fallen(window)
        take.unlink()
        take_back(qtbot, window)
        click(qtbot, "Leave it")
        assert len(journals(window)) == 1
        assert look(window.settings.state_folder / "journals").found == ()
        window.recovery.journal.expect(JournalFile.new(window.settings.state_folder / "journals"), 0, None)
        (found,) = look(window.settings.state_folder / "journals").found
        assert found.steps == 1
        found.file.leave()

    def test_other_work_is_not_left_unasked(self, qtbot, window, take, tmp_path):
        keep_line(qtbot, window, 3)
        fallen(window)
        other = tmp_path / "other.mid"
        shutil.copyfile(take, other)
        opened(qtbot, window, other)
        keep_line(qtbot, window, 5)
        take_back(qtbot, window)
        click(qtbot, "Stay")
        assert window.recovery.offer.isVisible()
        assert window.workspace.state.take.path == other
        qtbot.mouseClick(window.recovery.offer.back, Qt.MouseButton.LeftButton)
        click(qtbot, "Leave without saving")
        qtbot.waitUntil(lambda: window.workspace.state.take.path == take and settled(window), timeout=WAIT)
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        assert len(journals(window)) == 1


class TestOffer:
    def test_later_keeps_it_and_thrown_away_it_is_gone_after_a_question(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        fallen(window)
        (path,) = journals(window)
        data = path.read_bytes()
        look_again(qtbot, window)
        qtbot.mouseClick(window.recovery.offer.later, Qt.MouseButton.LeftButton)
        assert not window.recovery.offer.isVisible()
        assert path.read_bytes() == data
        look_again(qtbot, window)
        qtbot.mouseClick(window.recovery.offer.away, Qt.MouseButton.LeftButton)
        click(qtbot, "Keep it")
        assert window.recovery.offer.isVisible()
        assert path.read_bytes() == data
        qtbot.mouseClick(window.recovery.offer.away, Qt.MouseButton.LeftButton)
        assert "1 step on evening.mid" in click(qtbot, "Throw away").text()
        assert not window.recovery.offer.isVisible()
        assert journals(window) == []

    def test_two_are_offered_one_after_the_other_the_latest_first(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        fallen(window)
        (path,) = journals(window)
        other = path.with_name("20200101-000000-00000000.journal")
        shutil.copyfile(path, other)
        os.utime(other, (0, 1_600_000_000))
        look_again(qtbot, window)
        assert window.recovery.offer.words.whole().endswith("(1 more after this)")
        qtbot.mouseClick(window.recovery.offer.later, Qt.MouseButton.LeftButton)
        assert window.recovery.offer.isVisible()
        assert "September 2020" in window.recovery.offer.words.whole()
        qtbot.mouseClick(window.recovery.offer.later, Qt.MouseButton.LeftButton)
        assert not window.recovery.offer.isVisible()

    def test_work_of_a_window_that_is_open_is_not_offered(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        assert look(window.settings.state_folder / "journals").found == ()
        assert agree(window)

    def test_what_was_saved_before_the_fall_is_cleared_up(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        keep_line(qtbot, window, 4)
        (path,) = journals(window)
        data = path.read_bytes()
        save(qtbot, window)
        saved(qtbot, window, take.with_name("a.barwright"))
        path.write_bytes(data)
        assert look(path.parent).found == ()
        assert journals(window) == []

    def test_what_cannot_be_read_is_put_aside_and_said(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        fallen(window)
        (path,) = journals(window)
        path.write_bytes(b"?" + path.read_bytes())
        (path.with_name("empty.journal")).touch()
        window.recovery.look()
        qtbot.waitUntil(lambda: "cannot be read" in said(window)[-1], timeout=WAIT)
        assert window.strip.messages[-1].details == str(path.with_suffix(".unreadable"))
        assert path.with_suffix(".unreadable").read_bytes().startswith(b"?")
        assert not window.recovery.offer.isVisible()
        assert journals(window) == []
        path.with_suffix(".unreadable").unlink()

    def test_a_torn_end_is_said_and_all_before_it_comes_back(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        keep_line(qtbot, window, 4)
        fallen(window)
        (path,) = journals(window)
        path.write_bytes(path.read_bytes()[:-5])
        take_back(qtbot, window)
        qtbot.waitUntil(lambda: window.workspace.history is not None and settled(window), timeout=WAIT)
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        keep_line(qtbot, window, 5)
        assert agree(window)

    def test_moments(self):
        now = datetime(2026, 3, 2, 9, 30)
        assert moment(datetime(2026, 3, 2, 0, 5), now) == "00:05"
        assert moment(datetime(2026, 3, 1, 23, 59), now) == "23:59 yesterday"
        assert moment(datetime(2025, 3, 1, 12, 0), now) == "12:00 on 1 March 2025"


class TestNewer:
    @pytest.fixture
    def newer(self, qtbot, window, take):
        """A project as a later version might write it, open in the window."""
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        window.workspace.close_take()
        whole = json.loads(project.read_bytes())
        whole["version"] = VERSION + 1
        whole["document"]["swing"] = 0.6
        project.write_bytes(json.dumps(whole).encode())
        window.open_path(project)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        to_front(qtbot, window)
        return project

    def test_it_is_shown_and_only_saved_under_another_name(self, qtbot, window, newer):
        before = newer.read_bytes()
        assert any("newer Barwright, shown without “swing”" in text for text in said(window))
        assert "a.barwright (read only)" in window.windowTitle()
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        keep_line(qtbot, window, 5)
        save(qtbot, window)
        box = click(qtbot, "Do not save")
        assert "loses “swing”" in box.informativeText()
        save(qtbot, window)
        click(qtbot, "Save under another name")
        choose(qtbot, newer.with_name("mine.barwright"))
        saved(qtbot, window, newer.with_name("mine.barwright"))
        assert "read only" not in window.windowTitle()
        assert newer.read_bytes() == before
        assert len(read_project(newer.with_name("mine.barwright"))[0].edits) == 2

    def test_taken_back_after_a_fall_it_is_still_not_written_over(self, qtbot, window, newer):
        keep_line(qtbot, window, 5)
        fallen(window)
        take_back(qtbot, window)
        qtbot.waitUntil(lambda: window.saving.path == newer and settled(window), timeout=WAIT)
        save(qtbot, window)
        click(qtbot, "Do not save")


def test_no_question_is_left(qapp):
    assert not isinstance(QApplication.activeModalWidget(), QMessageBox)
