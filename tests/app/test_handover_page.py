"""The page by its fields, keys and buttons: from settings to a plan, and from a plan to files that are right."""

import errno
import os
import threading

import mido
import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QApplication, QFileDialog

from app.colours import DARK, LIGHT, colours_for
from app.handover_page import HandoverPage
from app.state import State
from app.theme import palette_for
from core.document import Section
from core.fit import RESOLUTION
from core.handover_settings import Settings
from core.metre import Metre
from core.plan_heard import plan_heard
from tests.app.handover.desk import GRID, Desk, guitar, piano, slow_in_the_middle
from tests.core.free_grids import FOUR, grid_of


@pytest.fixture
def open_page(qtbot):
    """Show a page over a state; it is stopped, and no thread of it is left, in the end."""
    pages = []

    def show(state):
        page = HandoverPage(Desk(state))
        page.desk = page._workspace
        pages.append(page)
        qtbot.addWidget(page)
        page.resize(900, 620)
        page.show()
        if state.grid is not None and not state.pending:
            qtbot.waitUntil(lambda: page.plan is not None)
        return page

    yield show
    for page in pages:
        page.stop()
        assert not page._planning.waiting
    assert not [thread for thread in threading.enumerate() if thread.name == "errand"]


@pytest.fixture
def page(open_page, tmp_path):
    return open_page(piano(tmp_path))


def choose(qtbot, combo, words):
    """Step down to an entry with the keys."""
    combo.setFocus()
    qtbot.keyClick(combo, Qt.Key.Key_Home)
    while not combo.currentText().startswith(words):
        before = combo.currentIndex()
        qtbot.keyClick(combo, Qt.Key.Key_Down)
        assert combo.currentIndex() == before + 1


def planned(qtbot, page):
    qtbot.waitUntil(lambda: page.plan is not None)
    return page.plan


def press(qtbot, button):
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def write(qtbot, page):
    press(qtbot, page.footer.write)
    qtbot.waitUntil(lambda: page.sheet.result.isVisible() and page.footer.write.isEnabled())


def bar_lines_by_mido(path):
    """Seconds of every bar line of a map that stays in 4/4, as mido counts them."""
    file = mido.MidiFile(path)
    found, seconds, tempo, tick, bar = [0.0], 0.0, 500_000, 0, 4 * file.ticks_per_beat
    # Merged first: seconds of one track alone would leave out the tempo of another (mido issue 595).
    for message in mido.merge_tracks(file.tracks):
        while len(found) * bar <= tick + message.time:
            found.append(seconds + mido.tick2second(len(found) * bar - tick, file.ticks_per_beat, tempo))
        seconds += mido.tick2second(message.time, file.ticks_per_beat, tempo)
        tick += message.time
        tempo = message.tempo if message.type == "set_tempo" else tempo
    return found


def test_without_bars_the_page_says_what_it_is_for(open_page, tmp_path):
    page = open_page(State())
    assert page.stack.currentIndex() == 0
    assert page.settings == {}
    state = piano(tmp_path)
    page.desk.put(take=state.take)
    assert page.stack.currentIndex() == 0
    page.desk.put(grid=state.grid, document=state.document)
    assert page.stack.currentIndex() == 1


def test_the_plan_is_told_in_words(page):
    plan = page.plan
    assert page.sheet.summary.text() == (
        f"{len(GRID.bar_lines)} bar lines, {plan.tempi} tempi, every bar line met exactly"
    )
    assert plan.session.placing in page.sheet.details.text()
    assert [name.whole for name, *_ in page.sheet.files.rows] == [
        *("evening.tempo-map.mid", "evening.bars.csv", "evening.beats.csv")
    ]
    assert [size.isVisible() for _, size, _ in page.sheet.files.rows] == [False] * 3


class TestSettings:
    def test_every_field_reaches_the_plan(self, page, qtbot):
        form = page.form
        form.name.selectAll()
        qtbot.keyClicks(form.name, "dusk")
        choose(qtbot, form.knots, "As seldom")
        form.tolerance.selectAll()
        qtbot.keyClicks(form.tolerance, "35,5".replace(",", form.tolerance.locale().decimalPoint()))
        choose(qtbot, form.lead_in, "A number")
        form.lead_bars.selectAll()
        qtbot.keyClicks(form.lead_bars, "3")
        choose(qtbot, form.key, "E♭ minor")
        choose(qtbot, form.division, "480")
        for box in (form.click, form.notes, form.beats):
            box.setFocus()
            qtbot.keyClick(box, Qt.Key.Key_Space)
        assert planned(qtbot, page).settings == Settings(
            name="dusk",
            knots="fewest",
            tolerance=0.0355,
            lead_in=3,
            key="Ebm",
            division=480,
            click=True,
            notes=True,
            beats=False,
        )
        assert page.plan.worst <= 0.0355 + RESOLUTION
        assert len(page.plan.files) == 2

    def test_only_the_numbers_that_count_are_shown(self, page, qtbot):
        form = page.form
        assert not form.tolerance.isVisible()
        choose(qtbot, form.knots, "As seldom")
        assert form.tolerance.isVisible()
        assert "one you placed never" in form.knots_help.text()
        assert not form.lead_bars.isVisible()
        choose(qtbot, form.lead_in, "None")
        assert not form.lead_bars.isVisible()
        assert planned(qtbot, page).settings.lead_in == "none"

    def test_empty_bars_go_before_all_else(self, page, qtbot, tmp_path):
        form, plain = page.form, page.plan.session
        form.intro.setFocus()
        form.intro.selectAll()
        qtbot.keyClicks(form.intro, "4")
        planned_session = planned(qtbot, page).session
        held = planned_session.shift - 4
        assert planned_session.metre == plain.metre
        assert f"bar 1 of the take is bar {5 + held} of the session" in page.sheet.details.text()
        assert f"Put the recording at {planned_session.offset:.6f} s" in page.sheet.details.text()
        assert "hold what was recorded before bar 1" in form.lead_help.text()
        write(qtbot, page)
        lines = bar_lines_by_mido(page.sheet.result.path)
        # The last of these bars holds the take's own pickup.
        np.testing.assert_allclose(np.diff(lines[: 4 + held]), lines[1], atol=2e-5)
        at = planned_session.offset + GRID.bar_times
        np.testing.assert_allclose(lines[4 + held : 4 + held + len(at)], at, atol=2e-5)
        choose(qtbot, form.lead_in, "None")
        assert "follows on the empty bars" in form.lead_help.text()
        assert planned(qtbot, page).session.first_bar == 5

    def test_several_changes_make_one_plan(self, page, qtbot, monkeypatch):
        made = []
        real = plan_heard
        monkeypatch.setattr("app.handover_page.plan_heard", lambda *a, **k: made.append(a) or real(*a, **k))
        qtbot.keyClicks(page.form.name, "-at-sea")
        assert page.plan is None
        assert planned(qtbot, page).settings.name == "evening-at-sea"
        assert len(made) == 1

    def test_a_name_no_file_can_have_is_one_sentence(self, page, qtbot):
        qtbot.keyClicks(page.form.name, "/a")
        qtbot.waitUntil(page.sheet.problem.isVisible)
        assert page.sheet.problem.text() == '"evening/a" cannot be a file name; give a plain name without folders.'
        assert not page.footer.write.isEnabled()
        assert page.settings["name"] == "evening"
        for _ in "/a":
            qtbot.keyClick(page.form.name, Qt.Key.Key_Backspace)
        assert planned(qtbot, page).settings.name == "evening"
        assert page.footer.write.isEnabled()
        assert not page.sheet.problem.isVisible()

    def test_a_folder_without_its_whole_path_is_one_sentence(self, page, qtbot):
        page.form.folder.selectAll()
        qtbot.keyClicks(page.form.folder, "maps")
        qtbot.waitUntil(page.sheet.problem.isVisible)
        assert "not the whole path" in page.sheet.problem.text()

    def test_the_folder_is_chosen_in_the_systems_own_dialog(self, page, qtbot, monkeypatch, tmp_path):
        (tmp_path / "maps").mkdir()
        monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "maps"))
        press(qtbot, page.form.choose)
        planned(qtbot, page)
        write(qtbot, page)
        assert sorted(path.name for path in (tmp_path / "maps").iterdir()) == [
            *("evening.bars.csv", "evening.beats.csv", "evening.tempo-map.mid")
        ]

    def test_an_audio_take_has_no_notes_and_the_page_says_why(self, open_page, tmp_path, qtbot):
        page = open_page(guitar(tmp_path))
        page.settings = {**page.settings, "notes": True}
        assert not page.form.notes.isEnabled()
        assert page.form.notes_help.text() == "This take is sound: it has no notes of its own to write."
        assert page.form.notes.accessibleDescription() == page.form.notes_help.text()
        assert planned(qtbot, page).settings.notes is False
        write(qtbot, page)
        assert (tmp_path / "guitar.tempo-map.mid").is_file()

    def test_each_take_keeps_its_own(self, page, qtbot, tmp_path):
        qtbot.keyClicks(page.form.name, "-one")
        page.form.click.setFocus()
        qtbot.keyClick(page.form.click, Qt.Key.Key_Space)
        first = page.desk.state
        kept = page.settings
        other = guitar(tmp_path)
        page.desk.put(take=other.take)
        assert (page.settings["name"], page.settings["click"]) == ("guitar", False)
        page.desk.put(take=first.take)
        assert page.settings == kept
        assert (page.form.name.text(), page.form.click.isChecked()) == ("evening-one", True)
        assert all(isinstance(value, str | int | float | bool | None) for value in kept.values())

    def test_the_wheel_over_a_field_changes_nothing(self, page, qtbot):
        before = page.settings
        for field in (page.form.knots, page.form.division, page.form.lead_in):
            field.setFocus()
            field.wheelEvent(event := _Wheel())
            assert event.ignored
        assert page.settings == before


class _Wheel:
    ignored = False

    def ignore(self):
        self.ignored = True


class TestWriting:
    def test_another_reader_finds_the_bar_lines_of_the_grid(self, page, qtbot, tmp_path):
        write(qtbot, page)
        session = page.plan.session
        lines = bar_lines_by_mido(tmp_path / "evening.tempo-map.mid")[: session.last_bar]
        np.testing.assert_allclose(
            np.array(lines)[session.first_bar - 1 :] - session.offset, GRID.bar_times, atol=1e-5, rtol=0
        )
        result = page.sheet.result
        assert result.heading.text() == "✓ 3 files written and read back"
        assert f"{session.last_bar} bar lines" in result.proof.text()
        assert session.placing in result.steps[2].text()
        assert "headphones" in result.steps[3].text()
        sizes = [size.text() for _, size, _ in page.sheet.files.rows]
        data = [(tmp_path / file.name).stat().st_size for file in page.plan.files]
        assert sizes == [f"{size / 1000:.1f} kB" if size >= 1000 else f"{size} bytes" for size in data]
        assert page.desk.messages[-1].text == f"Wrote 3 files to {tmp_path}"

    def test_sections_go_along_as_markers(self, page, qtbot, tmp_path):
        document = page.desk.state.document
        page.desk.put(document=type(document)(metre=document.metre, sections=(Section(5, "Second wind"),)))
        planned(qtbot, page)
        write(qtbot, page)
        first = mido.MidiFile(tmp_path / "evening.tempo-map.mid").tracks[0]
        assert [message.text for message in first if message.type == "marker"] == ["Second wind"]

    def test_a_click_at_once_waits_for_the_plan(self, page, qtbot, tmp_path):
        page.form.name.setFocus()
        qtbot.keyClicks(page.form.name, "-late")
        qtbot.keyClick(page.footer.write, Qt.Key.Key_Space)
        assert page.plan is None
        qtbot.waitUntil(page.sheet.result.isVisible)
        assert (tmp_path / "evening-late.tempo-map.mid").is_file()

    def test_existing_files_are_replaced_only_when_asked(self, page, qtbot, tmp_path):
        mine = tmp_path / "evening.bars.csv"
        mine.write_text("mine")
        press(qtbot, page.footer.write)
        assert page.footer.asking
        assert page.footer.text.text() == f"evening.bars.csv is in the folder “{tmp_path.name}” already."
        qtbot.keyClick(page.footer.leave, Qt.Key.Key_Escape)
        assert not page.footer.asking
        assert [path.name for path in tmp_path.iterdir()] == ["evening.bars.csv"]
        press(qtbot, page.footer.write)
        press(qtbot, page.footer.replace)
        qtbot.waitUntil(page.sheet.result.isVisible)
        assert mine.read_text() != "mine"
        assert len(list(tmp_path.iterdir())) == 3

    def test_the_question_goes_when_something_changes(self, page, qtbot, tmp_path):
        (tmp_path / "evening.bars.csv").write_text("mine")
        press(qtbot, page.footer.write)
        assert page.footer.asking
        qtbot.keyClicks(page.form.name, "2")
        assert not page.footer.asking
        assert page.footer.write.isVisible()

    @pytest.mark.parametrize(
        ("number", "words"), [(errno.ENOSPC, "the disk is full"), (errno.EACCES, "writing is not allowed there")]
    )
    def test_what_the_system_refuses_is_one_sentence_and_leaves_nothing(
        self, page, qtbot, tmp_path, monkeypatch, number, words
    ):
        def refuse(_descriptor):
            raise OSError(number, os.strerror(number))

        with monkeypatch.context() as patch:
            patch.setattr("core.safe_write.os.fsync", refuse)
            press(qtbot, page.footer.write)
            qtbot.waitUntil(lambda: words in page.footer.text.text())
        assert list(tmp_path.iterdir()) == []
        assert page.desk.messages[-1].warning
        assert page.desk.messages[-1].text == page.footer.text.text()
        assert not page.sheet.result.isVisible()
        write(qtbot, page)

    def test_a_folder_that_has_gone_is_one_sentence(self, page, qtbot, tmp_path):
        page.settings = {**page.settings, "folder": str(tmp_path / "gone")}
        planned(qtbot, page)
        press(qtbot, page.footer.write)
        qtbot.waitUntil(lambda: "its folder does not exist" in page.footer.text.text())

    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere")
    def test_a_folder_without_permission_is_one_sentence(self, page, qtbot, tmp_path):
        tmp_path.chmod(0o500)
        try:
            press(qtbot, page.footer.write)
            qtbot.waitUntil(lambda: "writing is not allowed there" in page.footer.text.text())
        finally:
            tmp_path.chmod(0o700)

    def test_the_recording_is_never_written_over(self, open_page, qtbot, tmp_path):
        recording = tmp_path / "sea.tempo-map.mid"
        recording.write_bytes(b"played")
        page = open_page(piano(tmp_path, name=recording.name))
        page.settings = {**page.settings, "name": "sea"}
        planned(qtbot, page)
        press(qtbot, page.footer.write)
        press(qtbot, page.footer.replace)
        qtbot.waitUntil(lambda: "never written over" in page.footer.text.text())
        assert recording.read_bytes() == b"played"

    def test_files_behind_the_bars_are_called_so(self, page, qtbot):
        write(qtbot, page)
        assert page.sheet.files_title.text() == "What has been written"
        assert not page.sheet.result.stale.isVisible()
        choose(qtbot, page.form.knots, "At every beat")
        planned(qtbot, page)
        assert page.sheet.result.stale.isVisible()
        assert page.sheet.files_title.text() == "What will be written"
        choose(qtbot, page.form.knots, "At every bar")
        planned(qtbot, page)
        assert not page.sheet.result.stale.isVisible()

    def test_what_is_written_for_a_take_that_has_gone_is_not_shown(self, page, qtbot, tmp_path):
        press(qtbot, page.footer.write)
        page.desk.put(take=guitar(tmp_path).take)
        qtbot.waitUntil(lambda: page.desk.messages != [])
        planned(qtbot, page)
        assert not page.sheet.result.isVisible()
        assert page.footer.write.isEnabled()

    def test_the_folder_opens_and_the_path_is_copied(self, page, qtbot, tmp_path, monkeypatch):
        opened = []
        monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: opened.append(url.toLocalFile()) or True)
        write(qtbot, page)
        press(qtbot, page.sheet.result.open_folder)
        press(qtbot, page.sheet.result.copy_path)
        assert opened == [str(tmp_path)]
        assert QGuiApplication.clipboard().text() == str(tmp_path / "evening.tempo-map.mid")
        monkeypatch.setattr(QDesktopServices, "openUrl", lambda _: False)
        press(qtbot, page.sheet.result.open_folder)
        assert page.desk.messages[-1].warning

    def test_what_is_dragged_out_is_the_file_just_written(self, page, qtbot, tmp_path):
        write(qtbot, page)
        (url,) = page.sheet.result.handle.mime().urls()
        assert mido.MidiFile(url.toLocalFile()).type == 1
        (tmp_path / "evening.tempo-map.mid").unlink()
        assert page.sheet.result.handle.mime() is None
        assert "is not there any more" in page.desk.messages[-1].text


class TestFollowing:
    def test_new_bars_make_a_new_plan(self, page, qtbot):
        other = grid_of(Metre.steady(FOUR), [0.5] * 40, start=1.0)
        page.desk.put(grid=other)
        assert planned(qtbot, page).grid is other
        assert page.sheet.summary.text().startswith("11 bar lines, ")

    def test_suggestions_on_their_way_are_waited_for(self, page, qtbot):
        other = grid_of(Metre.steady(FOUR), [0.5] * 40, start=1.0)
        page.desk.put(pending=True)
        qtbot.waitUntil(lambda: page.footer.text.text() == "The bars are being worked out.")
        assert page.plan is None
        press(qtbot, page.footer.write)
        page.desk.put(grid=other, pending=False)
        qtbot.waitUntil(page.sheet.result.isVisible)
        assert page.plan.grid is other

    def test_one_bar_line_is_too_few_and_the_page_says_so(self, page, qtbot):
        page.desk.put(grid=grid_of(Metre.steady(FOUR), [0.5], bar=0, beat=4))
        qtbot.waitUntil(page.sheet.problem.isVisible)
        assert "at least two bar lines" in page.sheet.problem.text()
        assert not page.footer.write.isEnabled()

    def test_a_caution_leads_to_its_bar(self, page, qtbot):
        page.desk.put(grid=slow_in_the_middle())
        planned(qtbot, page)
        cautions = page.sheet.cautions
        assert cautions.count() == 1
        with qtbot.waitSignal(page.went_to) as told:
            qtbot.mouseClick(
                cautions.viewport(),
                Qt.MouseButton.LeftButton,
                pos=cautions.visualItemRect(cautions.item(0)).center(),
            )
        assert told.args == [10]
        assert page.desk.selection == {(10, 1)}

    def test_a_hidden_page_works_out_nothing(self, page, qtbot):
        page.hide()
        page.desk.put(grid=slow_in_the_middle())
        assert not page._planning.waiting
        assert page.plan is None
        page.show()
        assert len(planned(qtbot, page).cautions) == 1

    def test_a_fault_of_our_own_is_a_message_with_details(self, page, qtbot, monkeypatch):
        def fail(*_, **__):
            raise RuntimeError("wires crossed")

        monkeypatch.setattr("app.handover_page.plan_heard", fail)
        qtbot.keyClicks(page.form.name, "2")
        qtbot.waitUntil(page.sheet.problem.isVisible)
        assert "RuntimeError: wires crossed" in page.desk.messages[-1].details
        assert "wires" not in page.sheet.problem.text()


class TestLook:
    def test_it_follows_light_and_dark(self, page, qtbot):
        before = QApplication.palette()
        try:
            for colours in (DARK, LIGHT):
                QApplication.setPalette(palette_for(colours))
                qtbot.waitUntil(lambda colours=colours: colours_for(page.palette()).dark == colours.dark)
                QApplication.processEvents()
                assert colours.warning.name() in page.styleSheet()
                assert page.sheet.picture.backgroundBrush().color() == colours.lane
        finally:
            QApplication.setPalette(before)

    def test_the_keyboard_reaches_everything_from_top_to_bottom(self, page, qtbot):
        page.desk.put(grid=slow_in_the_middle())
        planned(qtbot, page)
        write(qtbot, page)
        form, more, result = page.form, page.form.more, page.sheet.result
        form.name.setFocus()
        reached = []
        for _ in range(32):
            reached.append(page.focusWidget())
            qtbot.keyClick(page.focusWidget(), Qt.Key.Key_Tab)
        assert reached == [
            *(form.name, form.folder, form.choose, form.knots, form.lead_in, form.intro),
            *(form.click, form.notes, form.bars, form.beats, form.key, form.division),
            *(more.sound, more.loops, more.click_sound, more.steady, more.form, more.peak, more.marks),
            *(more.played, more.steady_notes, more.tempo_kind, more.report, more.manifest),
            *(page.sheet.cautions, result.handle, result.open_folder, result.copy_path, page.footer.write),
            *(form.name, form.folder, form.choose),
        ]
        for widget in reached:
            assert widget.accessibleName() or widget.text()

    @pytest.mark.parametrize("size", [(900, 620), (1540, 900)])
    def test_no_text_is_cut_off(self, page, qtbot, size):
        page.resize(*size)
        page.form.show_choices(page.form.choices(), has_notes=False)
        write(qtbot, page)
        QApplication.processEvents()
        for area in (page.form, page.sheet):
            assert area.width() <= area.parentWidget().width()
        for label in page.findChildren(type(page.sheet.summary)):
            if label.isVisible() and label.wordWrap() and label.text():
                assert label.height() >= label.heightForWidth(label.width())
