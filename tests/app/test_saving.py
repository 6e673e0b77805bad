"""Saving and opening projects by keys, mouse and dialogs, through the real worker: nothing done is lost."""

import shutil

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QTimer, QUrl
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit, QMessageBox

from app.project_jobs import load
from core import safe_write
from core.edits import NameSection
from core.project_file import previous, read_project, write_project
from tests.app.shell import WAIT, close_dialogs, opened, press, settled, to_front
from tests.app.takes import play_midi
from tests.core.project_strategies import check_schema

Key, Held = Qt.Key, Qt.KeyboardModifier
CTRL, SHIFT = Held.ControlModifier, Held.ShiftModifier


@pytest.fixture
def window(shared):
    yield shared
    close_dialogs()
    shared.workspace.close_take()


@pytest.fixture
def take(qtbot, window, played, tmp_path):
    """A take of its own for each test, open in the window."""
    path = tmp_path / "evening.mid"
    shutil.copyfile(played, path)
    opened(qtbot, window, path)
    window.views.show_timeline()
    window.activateWindow()
    return path


def shown(qtbot, kind):
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), kind), timeout=WAIT)
    return QApplication.activeModalWidget()


def click(qtbot, text):
    """Click a button of the question that is open."""
    box = shown(qtbot, QMessageBox)
    button = next(each for each in box.buttons() if each.text() == text)
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    return box


def choose(qtbot, path):
    """Put a path into the file dialog that is open; typed, a list of likely names would take the Return."""
    dialog = shown(qtbot, QFileDialog)
    field = dialog.findChild(QLineEdit, "fileNameEdit")
    field.setText(str(path))
    qtbot.keyClick(field, Key.Key_Return)


def keep_line(qtbot, window, bar):
    to_front(qtbot, window)
    window.workspace.select([(bar, 1)])
    press(qtbot, window, Key.Key_K)


def save(qtbot, window):
    to_front(qtbot, window)
    qtbot.keyClick(window.timeline.stage, Key.Key_S, CTRL)


def saved(qtbot, window, path):
    qtbot.waitUntil(lambda: window.saving.path == path and not window.saving.unsaved, timeout=WAIT)


def ask_where(qtbot, window):
    to_front(qtbot, window)
    qtbot.keyClick(window.timeline.stage, Key.Key_S, CTRL | SHIFT)


def save_as(qtbot, window, path):
    ask_where(qtbot, window)
    choose(qtbot, path)
    saved(qtbot, window, path)


def said(window):
    return [message.text for message in window.strip.messages]


def reopened(qtbot, window, path):
    """Close what is open, and open a project."""
    window.workspace.close_take()
    window.open_path(path)
    qtbot.waitUntil(lambda: window.saving.path == path and settled(window), timeout=WAIT)
    to_front(qtbot, window)


class TestSave:
    def test_the_first_save_asks_for_a_name_and_the_next_does_not(self, qtbot, window, take):
        project = take.with_suffix(".barwright")
        assert not window.isWindowModified()
        keep_line(qtbot, window, 3)
        assert window.isWindowModified()
        assert window.windowTitle().startswith("evening.mid[*]")
        save(qtbot, window)
        dialog = shown(qtbot, QFileDialog)
        # The name of the take is offered, beside the take.
        assert dialog.selectedFiles() == [str(project)]
        qtbot.keyClick(dialog.findChild(QLineEdit, "fileNameEdit"), Key.Key_Return)
        saved(qtbot, window, project)
        assert not window.isWindowModified()
        assert window.windowTitle().startswith("evening.barwright[*]")
        assert window.settings.recent[0] == project
        first = project.read_bytes()
        check_schema(first)
        keep_line(qtbot, window, 5)
        assert window.isWindowModified()
        save(qtbot, window)
        saved(qtbot, window, project)
        check_schema(project.read_bytes())
        assert previous(project).read_bytes() == first
        assert read_project(project)[0].document == window.workspace.state.document

    def test_undone_to_what_was_saved_is_saved(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        keep_line(qtbot, window, 4)
        assert window.isWindowModified()
        press(qtbot, window, Key.Key_Z, CTRL)
        # What was undone could be done again, and the file does not know of it.
        assert window.isWindowModified()
        save(qtbot, window)
        saved(qtbot, window, take.with_name("a.barwright"))
        press(qtbot, window, Key.Key_Z, CTRL)
        press(qtbot, window, Key.Key_Z, CTRL | SHIFT)
        assert not window.isWindowModified()

    def test_a_name_without_the_ending_gets_it(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        ask_where(qtbot, window)
        choose(qtbot, take.with_name("evening.2"))
        saved(qtbot, window, take.with_name("evening.2.barwright"))

    def test_the_take_is_never_written_over(self, qtbot, window, take):
        data = take.read_bytes()
        keep_line(qtbot, window, 3)
        ask_where(qtbot, window)
        # The dialog asks before it replaces a file, and waits for the answer.
        QTimer.singleShot(200, lambda: click(qtbot, "&Yes"))
        choose(qtbot, take)
        saved(qtbot, window, take.with_name("evening.mid.barwright"))
        assert take.read_bytes() == data

    def test_a_full_disk_is_said_and_nothing_is_lost(self, qtbot, window, take, monkeypatch):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        before = project.read_bytes()
        keep_line(qtbot, window, 4)

        def full(_):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(safe_write.os, "fsync", full)
        save(qtbot, window)
        qtbot.waitUntil(lambda: "the disk is full" in said(window)[-1], timeout=WAIT)
        assert project.read_bytes() == before
        assert window.isWindowModified()
        monkeypatch.undo()
        save(qtbot, window)
        saved(qtbot, window, project)

    def test_saving_twice_at_once_is_saved_without_a_question(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        for bar in (4, 5, 6):
            keep_line(qtbot, window, bar)
            save(qtbot, window)
        saved(qtbot, window, take.with_name("a.barwright"))
        assert QApplication.activeModalWidget() is None
        assert len(read_project(take.with_name("a.barwright"))[0].edits) == 4

    def test_choices_of_the_hand_over_are_work_too(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        window.views.show_hand_over()
        qtbot.mouseClick(window.hand_over.form.click, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(window.isWindowModified, timeout=WAIT)
        window.views.show_timeline()
        save(qtbot, window)
        saved(qtbot, window, take.with_name("a.barwright"))
        wanted = window.hand_over.settings
        window.hand_over.settings = {}
        reopened(qtbot, window, take.with_name("a.barwright"))
        assert window.hand_over.settings == wanted
        assert window.hand_over.settings["click"] is True
        assert not window.isWindowModified()

    def test_nothing_can_be_saved_where_there_are_no_bars(self, qtbot, window):
        for name in ("save_project", "save_project_as"):
            assert not window.actions_by_id[name].isEnabled()


class TestTwoWindows:
    def test_work_of_another_window_is_not_replaced_unasked(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        # What another window would do.
        theirs = load(project).project
        section = NameSection(2, "Theirs")
        edits = (*theirs.edits, section)
        document = section.apply(theirs.document)
        changed = type(theirs)(
            recording=theirs.recording, document=document, first=theirs.first, edits=edits, at=len(edits)
        )
        write_project(project, changed)
        keep_line(qtbot, window, 4)
        save(qtbot, window)
        box = click(qtbot, "Do not save")
        assert "other work" in box.text()
        assert read_project(project)[0] == changed
        assert window.isWindowModified()
        save(qtbot, window)
        click(qtbot, "Save under another name")
        choose(qtbot, take.with_name("mine.barwright"))
        saved(qtbot, window, take.with_name("mine.barwright"))
        assert read_project(project)[0] == changed

    def test_replaced_all_the_same_it_is_kept_beside(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        project.write_bytes(b"theirs")
        keep_line(qtbot, window, 4)
        save(qtbot, window)
        click(qtbot, "Replace")
        saved(qtbot, window, project)
        assert previous(project).read_bytes() == b"theirs"

    def test_a_project_that_has_gone_is_saved_again(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        project.unlink()
        keep_line(qtbot, window, 4)
        save(qtbot, window)
        saved(qtbot, window, project)
        assert project.is_file()


class TestOpen:
    def test_edits_and_undo_come_back(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        for bar in (2, 4, 6):
            keep_line(qtbot, window, bar)
        press(qtbot, window, Key.Key_Z, CTRL)
        before = window.workspace.state
        history = window.workspace.history
        save_as(qtbot, window, project)
        reopened(qtbot, window, project)
        state = window.workspace.state
        assert (state.document, state.history, state.at) == (before.document, before.history, before.at)
        assert state.grid == before.grid
        assert window.workspace.history == history
        assert not window.isWindowModified()
        assert window.settings.recent[0] == project
        press(qtbot, window, Key.Key_Z, CTRL | SHIFT)
        assert sorted(pin.bar for pin in window.workspace.state.document.pins) == [2, 4, 6]
        for _ in range(3):
            press(qtbot, window, Key.Key_Z, CTRL)
        assert window.workspace.state.document == history.first

    def test_by_the_dialog_and_by_dropping(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        window.workspace.close_take()
        window.activateWindow()
        qtbot.waitUntil(window.isActiveWindow, timeout=WAIT)
        qtbot.keyClick(window, Key.Key_O, CTRL)
        choose(qtbot, project)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        window.workspace.close_take()
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(project))])
        copy, button, where = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, QPoint(400, 300)
        QApplication.sendEvent(window, QDragEnterEvent(where, copy, data, button, Held.NoModifier))
        QApplication.sendEvent(window, QDropEvent(QPointF(where), copy, data, button, Held.NoModifier))
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)

    def test_the_version_before_is_gone_on_with_under_the_projects_name(self, qtbot, window, take):
        project = take.with_name("a.barwright")
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, project)
        keep_line(qtbot, window, 4)
        save(qtbot, window)
        saved(qtbot, window, project)
        window.workspace.close_take()
        window.open_path(previous(project))
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        assert window.isWindowModified()
        save(qtbot, window)
        # The later version is there still, and not replaced unasked.
        click(qtbot, "Do not save")
        assert len(read_project(project)[0].document.pins) == 2

    @pytest.mark.parametrize(
        "data", [b"", b"{}", b"[" * 100_000, b'{"format": "barwright project", "version": 9}']
    )
    def test_what_is_no_project_is_refused_and_the_work_stays(self, qtbot, window, take, data):
        bad = take.with_name("bad.barwright")
        bad.write_bytes(data)
        window.open_path(bad)
        qtbot.waitUntil(lambda: "bad.barwright cannot be opened" in said(window)[-1], timeout=WAIT)
        assert window.workspace.state.take.path == take
        assert window.saving.path is None

    def test_a_moved_folder_keeps_its_recording(self, qtbot, window, take, tmp_path):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        window.workspace.close_take()
        other = tmp_path / "elsewhere"
        other.mkdir()
        take.rename(other / "renamed.mid")
        take.with_name("a.barwright").rename(other / "a.barwright")
        reopened(qtbot, window, other / "a.barwright")
        assert window.workspace.state.take.path == other / "renamed.mid"


class TestMissingRecording:
    @pytest.fixture
    def project(self, qtbot, window, take, tmp_path):
        """A project whose recording has been taken away."""
        keep_line(qtbot, window, 3)
        path = tmp_path / "projects" / "a.barwright"
        path.parent.mkdir()
        save_as(qtbot, window, path)
        window.workspace.close_take()
        (tmp_path / "far").mkdir()
        take.rename(tmp_path / "far" / "hidden.mid")
        return path

    def test_it_is_asked_for_and_found(self, qtbot, window, project, tmp_path):
        before = project.read_bytes()
        window.open_path(project)
        box = click(qtbot, "Find it…")
        assert "evening.mid is not where it was" in box.text()
        choose(qtbot, tmp_path / "far" / "hidden.mid")
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert [pin.bar for pin in window.workspace.state.document.pins] == [3]
        assert project.read_bytes() == before
        # Saved again, the project knows where it is.
        keep_line(qtbot, window, 4)
        save(qtbot, window)
        saved(qtbot, window, project)
        assert read_project(project)[0].recording.path == "../far/hidden.mid"

    def test_without_it_every_line_is_there_and_all_of_it_can_be_saved(self, qtbot, window, project, tmp_path):
        old = read_project(project)[0]
        window.open_path(project)
        click(qtbot, "Open without it")
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert any("without its recording" in text for text in said(window))
        assert not window.isWindowModified()
        assert window.workspace.state.document == old.document
        times = [line.time for line in window.workspace.state.grid.bar_lines if line.placed]
        assert times == [pin.time for pin in old.document.pins]
        keep_line(qtbot, window, 5)
        save(qtbot, window)
        saved(qtbot, window, project)
        new = read_project(project)[0]
        # What is known of the recording stays as it was.
        assert new.recording == old.recording
        assert [pin.bar for pin in new.document.pins] == [3, 5]
        window.workspace.close_take()
        (tmp_path / "far" / "hidden.mid").rename(tmp_path / "back again.mid")
        window.open_path(project)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert window.workspace.state.take.path.samefile(tmp_path / "back again.mid")

    def test_left_alone_nothing_happens(self, qtbot, window, project):
        before = project.read_bytes()
        window.open_path(project)
        click(qtbot, "Leave it")
        assert window.workspace.state.take is None
        assert project.read_bytes() == before

    def test_a_changed_recording_is_asked_about_and_every_line_stays(self, qtbot, window, project, tmp_path):
        recording = tmp_path / "evening.mid"
        play_midi(recording, phrases=3)
        window.open_path(project)
        box = click(qtbot, "Find it…")
        assert "has been changed" in box.text()
        choose(qtbot, recording)
        click(qtbot, "Use it all the same")
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        assert window.workspace.state.document == read_project(project)[0].document
        assert window.isWindowModified()

    def test_a_recording_that_is_too_short_drops_nothing(self, qtbot, window, project, tmp_path):
        short = tmp_path / "short.mid"
        play_midi(short, phrases=1)
        shutil.copyfile(tmp_path / "far" / "hidden.mid", tmp_path / "evening.mid")
        window.open_path(project)
        qtbot.waitUntil(lambda: window.saving.path == project and settled(window), timeout=WAIT)
        keep_line(qtbot, window, 8)
        save(qtbot, window)
        saved(qtbot, window, project)
        window.workspace.close_take()
        (tmp_path / "evening.mid").unlink()
        before = project.read_bytes()
        window.open_path(project)
        click(qtbot, "Find it…")
        choose(qtbot, short)
        click(qtbot, "Use it all the same")
        qtbot.waitUntil(lambda: "take" in said(window)[-1] and window.strip.messages[-1].warning, timeout=WAIT)
        assert window.workspace.state.take is None
        assert project.read_bytes() == before


class TestLeaving:
    def test_save_first_then_open_another(self, qtbot, window, take, played):
        keep_line(qtbot, window, 3)
        window.open_path(played)
        box = shown(qtbot, QMessageBox)
        assert [button.text() for button in box.buttons()].count("Stay") == 1
        click(qtbot, "Save…")
        choose(qtbot, take.with_name("a.barwright"))
        qtbot.waitUntil(lambda: window.workspace.state.take.path == played and settled(window), timeout=WAIT)
        assert read_project(take.with_name("a.barwright"))[0].document.pins[0].bar == 3
        assert window.saving.path is None

    def test_no_name_given_means_stay(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        window.opening.close_take()
        click(qtbot, "Save…")
        qtbot.keyClick(shown(qtbot, QFileDialog), Key.Key_Escape)
        assert window.workspace.state.take.path == take
        # A save of later leaves nothing.
        save_as(qtbot, window, take.with_name("a.barwright"))
        assert window.workspace.state.take.path == take

    def test_what_cannot_be_saved_is_not_left(self, qtbot, window, take, monkeypatch):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        keep_line(qtbot, window, 4)

        def full(_):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(safe_write.os, "fsync", full)
        window.opening.close_take()
        click(qtbot, "Save")
        qtbot.waitUntil(lambda: "the disk is full" in said(window)[-1], timeout=WAIT)
        assert window.workspace.state.take.path == take

    def test_what_is_saved_is_left_unasked(self, qtbot, window, take):
        keep_line(qtbot, window, 3)
        save_as(qtbot, window, take.with_name("a.barwright"))
        window.opening.close_take()
        assert QApplication.activeModalWidget() is None
        assert window.workspace.state.take is None
        assert not window.isWindowModified()

    def test_closing_the_window_asks(self, qtbot, window, take, monkeypatch):
        keep_line(qtbot, window, 3)
        # Only the system sends one that says it comes from outside.
        monkeypatch.setattr(QCloseEvent, "spontaneous", lambda _: True)
        window.close()
        monkeypatch.undo()
        click(qtbot, "Stay")
        assert window.isVisible()
