"""The window by its keys and its mouse: every correction ends in the document through the real worker."""

import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QMessageBox

from app.actions import CONTEXT
from app.colours import colours_for
from app.dialogs.metre import MetreDialog
from app.dialogs.name import NameDialog
from app.dialogs.number import NumberDialog
from app.state import Message
from app.timeline.picking import Empty
from core.metre import TimeSignature
from tests.app.shell import (
    WAIT,
    afresh,
    bar_line,
    close_dialogs,
    held,
    opened,
    point,
    press,
    settled,
    times,
    to_front,
    window_of,
)
from tests.app.takes import play_midi

Key, Held = Qt.Key, Qt.KeyboardModifier
CTRL, SHIFT, ALT = Held.ControlModifier, Held.ShiftModifier, Held.AltModifier


@pytest.fixture(scope="module")
def take(tmp_path_factory):
    return play_midi(tmp_path_factory.mktemp("takes") / "four phrases.mid", phrases=4)


@pytest.fixture
def window(qtbot, shared, take):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, take.path)
    afresh(qtbot, shared)
    yield shared
    close_dialogs()


def select(window, *bars):
    window.workspace.select([(bar, 1) for bar in bars])


def document(window):
    return window.workspace.state.document


def answer(qtbot, window, kind):
    """The dialog of a kind that is open."""
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), kind), timeout=WAIT)
    return QApplication.activeModalWidget()


class TestLines:
    def test_place_here_places_a_line_under_the_pointer_and_selects_it(self, qtbot, window):
        middle = 0.5 * (bar_line(window, 5).time + bar_line(window, 6).time)
        point(qtbot, window, middle)
        press(qtbot, window, Key.Key_P)
        ((bar, beat),) = window.workspace.selection
        pin = next(pin for pin in document(window).pins if (pin.bar, pin.beat) == (bar, beat))
        # It may have gone to an onset a few pixels away.
        assert abs(pin.time - middle) < 10 * window.span.seconds_per_pixel

    def test_keep_places_the_selected_line_where_it_is(self, qtbot, window):
        select(window, 4)
        time = bar_line(window, 4).time
        press(qtbot, window, Key.Key_K)
        assert [(pin.bar, pin.time) for pin in document(window).pins] == [(4, time)]

    def test_let_go_and_remove_make_a_placed_line_a_suggestion_again(self, qtbot, window):
        for key in (Key.Key_L, Key.Key_Delete):
            select(window, 4)
            press(qtbot, window, Key.Key_K)
            press(qtbot, window, key)
            assert document(window).pins == ()

    def test_remove_takes_a_suggested_line_out_and_counts_one_bar_fewer(self, qtbot, window):
        before = times(window)
        select(window, 4)
        press(qtbot, window, Key.Key_Delete)
        assert times(window)[4] == pytest.approx(before[5], abs=1e-6)

    def test_accept_places_all_up_to_the_selected_line(self, qtbot, window):
        before = times(window)
        select(window, 5)
        press(qtbot, window, Key.Key_A)
        placed = {pin.bar: pin.time for pin in document(window).pins}
        assert placed == {bar: time for bar, time in before.items() if bar <= 5}

    def test_alternatives_go_round_and_end_at_the_suggestion(self, qtbot, window):
        line = next(each for each in window.workspace.state.grid.bar_lines[2:] if each.alternatives)
        select(window, line.bar)
        for time in line.alternatives:
            press(qtbot, window, Key.Key_N)
            assert [(pin.bar, pin.time) for pin in document(window).pins] == [(line.bar, time)]
        press(qtbot, window, Key.Key_N)
        assert document(window).pins == ()
        press(qtbot, window, Key.Key_N, SHIFT)
        assert document(window).pins[0].time == line.alternatives[-1]

    def test_an_alternative_is_taken_from_the_panel_with_a_click(self, qtbot, window):
        line = next(each for each in window.workspace.state.grid.bar_lines[2:] if each.alternatives)
        select(window, line.bar)
        listed = window.side_panel.this_bar.list
        assert listed.count() == len(line.alternatives)
        place = listed.visualItemRect(listed.item(0)).center()
        qtbot.mouseClick(listed.viewport(), Qt.MouseButton.LeftButton, pos=place)
        assert document(window).pins[0].time == line.alternatives[0]
        qtbot.waitUntil(lambda: settled(window), timeout=WAIT)

    @pytest.mark.parametrize(
        ("key", "held", "thousandths"),
        [
            (Key.Key_Left, CTRL, -1),
            (Key.Key_Right, CTRL, 1),
            (Key.Key_Left, CTRL | SHIFT, -5),
            (Key.Key_Right, CTRL | SHIFT, 5),
            (Key.Key_Left, ALT | SHIFT, -20),
            (Key.Key_Right, ALT | SHIFT, 20),
        ],
    )
    def test_nudges(self, qtbot, window, key, held, thousandths):
        before = times(window)
        select(window, 3, 6)
        press(qtbot, window, key, held)
        assert len(window.workspace.state.history) == 1
        moved = {pin.bar: pin.time - before[pin.bar] for pin in document(window).pins}
        assert moved == {3: pytest.approx(thousandths / 1000), 6: pytest.approx(thousandths / 1000)}

    def test_undo_and_redo(self, qtbot, window):
        select(window, 4)
        press(qtbot, window, Key.Key_K)
        kept = document(window)
        press(qtbot, window, Key.Key_Z, CTRL)
        assert document(window).pins == ()
        press(qtbot, window, Key.Key_Z, CTRL | SHIFT)
        assert document(window) == kept


class TestRanges:
    def test_shift_by_a_beat(self, qtbot, window):
        beats = {(beat.bar, beat.beat): beat.time for beat in window.workspace.state.grid.beats}
        select(window, 4)
        press(qtbot, window, Key.Key_Right, ALT)
        assert bar_line(window, 4).time == pytest.approx(beats[(4, 2)], abs=1e-6)
        press(qtbot, window, Key.Key_Left, ALT)
        assert bar_line(window, 4).time == pytest.approx(beats[(4, 1)], abs=1e-6)

    def test_halve_and_double_a_range(self, qtbot, window):
        before = times(window)
        select(window, 3, 4)
        press(qtbot, window, Key.Key_B, CTRL)
        halved = list(times(window).values())
        assert {round(before[bar], 6) for bar in (3, 4, 5)} <= {round(time, 6) for time in halved}
        press(qtbot, window, Key.Key_Z, CTRL)
        select(window, 3, 4)
        press(qtbot, window, Key.Key_B, CTRL | SHIFT)
        assert round(before[4], 6) not in {round(time, 6) for time in times(window).values()}

    def test_a_free_passage_is_marked_and_unmarked(self, qtbot, window):
        select(window, 4, 5)
        press(qtbot, window, Key.Key_F)
        assert document(window).free == (4,)
        select(window, 4)
        press(qtbot, window, Key.Key_F, SHIFT)
        assert document(window).free == ()

    def test_a_bar_no_longer_than_its_neighbours_is_not_held(self, qtbot, window):
        select(window, 4)
        press(qtbot, window, Key.Key_H)
        assert document(window).holds == ()
        assert "not held" in window.strip.text.whole()

    def test_the_key_of_a_command_that_cannot_be_done_says_why(self, qtbot, window):
        select(window, 1)
        press(qtbot, window, Key.Key_K)
        press(qtbot, window, Key.Key_N)
        assert window.strip.text.whole() == "You placed this bar line: let it go to see its other places."
        assert len(window.workspace.state.history) == 1
        window.workspace.select([])
        press(qtbot, window, Key.Key_L)
        assert window.strip.text.whole() == "Select a bar line first."

    def test_a_hold_is_marked_and_unmarked(self, qtbot, window, take, tmp_path):
        opened(qtbot, window, held(take.path, tmp_path / "stop.mid", after=12.0, seconds=5.0))
        lines = window.workspace.state.grid.bar_lines
        longest = max(range(len(lines) - 1), key=lambda i: lines[i + 1].time - lines[i].time)
        bar = lines[longest].bar
        try:
            select(window, bar)
            press(qtbot, window, Key.Key_H)
            assert document(window).holds == (bar,)
            select(window, bar)
            press(qtbot, window, Key.Key_H, SHIFT)
            assert document(window).holds == ()
        finally:
            window.workspace.close_take()


class TestCounting:
    def test_another_metre_from_a_bar_on(self, qtbot, window):
        select(window, 5)
        qtbot.keyClick(window.timeline.stage, Key.Key_M)
        dialog = answer(qtbot, window, MetreDialog)
        dialog.field.selectAll()
        qtbot.keyClicks(dialog.field, "2+2+3/8")
        qtbot.keyClick(dialog.field, Key.Key_Return)
        assert document(window).metre.at(5) == TimeSignature(7, 8, (2, 2, 3))
        assert document(window).metre.at(4).numerator != 7
        qtbot.waitUntil(lambda: settled(window), timeout=WAIT)

    def test_the_metre_that_was_heard_is_kept_without_a_word(self, window):
        before, said = window.workspace.state, len(window.strip.messages)
        window.question.chosen.emit(document(window).metre.at(1))
        assert window.workspace.state is before
        assert len(window.strip.messages) == said

    def test_on_the_page_without_bars_nothing_is_placed_by_a_stray_key(self, qtbot, window):
        before = document(window)
        window.views.show_hand_over()
        qtbot.keyClick(window, Key.Key_P)
        assert document(window) is before
        assert "Go back to the timeline" in window.actions_by_id["place_here"].toolTip()
        window.views.show_timeline()
        assert window.actions_by_id["place_here"].isEnabled()

    def test_a_pickup_and_none(self, qtbot, window):
        # Bar 2 counted as bar 1: the bar before it is then in front of the count, and its last beat a pickup.
        select(window, 2)
        press(qtbot, window, Key.Key_R, SHIFT)
        last = window.workspace.state.document.metre.at(0).beats
        window.workspace.select([(0, last)])
        assert window.workspace.selection == {(0, last)}
        press(qtbot, window, Key.Key_U)
        assert document(window).metre.pickup == document(window).metre.at(0).beat_quarters[1]
        assert "ickup" in window.workspace.state.history[-1]
        assert window.workspace.state.grid.beats[0].bar == 0
        press(qtbot, window, Key.Key_U, SHIFT)
        assert document(window).metre.pickup == 0

    def test_a_pickup_that_cannot_be_is_a_sentence(self, qtbot, window):
        window.workspace.select([(5, 2)])
        press(qtbot, window, Key.Key_U)
        assert window.strip.messages[-1].warning
        assert document(window).metre.pickup == 0
        assert window.strip.text.whole() == window.strip.messages[-1].text
        press(qtbot, window, Key.Key_K)
        assert window.strip.text.whole() == ""

    def test_another_number(self, qtbot, window):
        before = times(window)
        select(window, 5)
        qtbot.keyClick(window.timeline.stage, Key.Key_R)
        dialog = answer(qtbot, window, NumberDialog)
        dialog.field.setValue(7)
        qtbot.keyClick(dialog.field, Key.Key_Return)
        qtbot.waitUntil(lambda: settled(window), timeout=WAIT)
        assert bar_line(window, 7).time == before[5]

    def test_count_from_here(self, qtbot, window):
        before = times(window)
        select(window, 3)
        press(qtbot, window, Key.Key_R, SHIFT)
        assert bar_line(window, 1).time == pytest.approx(before[3], abs=1e-6)

    def test_while_no_section_is_named_the_lane_says_how(self, window):
        assert window.timeline.sections.hint.startswith("No sections yet: select a bar line and name one with S")

    def test_sections_are_named_renamed_selected_and_removed(self, qtbot, window):
        select(window, 5)
        for key, name in ((Key.Key_S, "Storm"), (Key.Key_F2, "Calm")):
            qtbot.keyClick(window.timeline.stage, key)
            dialog = answer(qtbot, window, NameDialog)
            dialog.field.selectAll()
            qtbot.keyClicks(dialog.field, name)
            qtbot.keyClick(dialog.field, Key.Key_Return)
            assert [(each.bar, each.name) for each in document(window).sections] == [(5, name)]
            to_front(qtbot, window)
            qtbot.waitUntil(lambda: settled(window), timeout=WAIT)
        for bar, down, name in ((7, 0, "A"), (9, 2, "A2")):
            select(window, bar)
            qtbot.keyClick(window.timeline.stage, Key.Key_S)
            dialog = answer(qtbot, window, NameDialog)
            for _ in range(down):
                qtbot.keyClick(dialog.music, Key.Key_Down)
            qtbot.keyClick(dialog.field, Key.Key_Return)
            assert (document(window).sections[-1].bar, document(window).sections[-1].name) == (bar, name)
            to_front(qtbot, window)
            qtbot.waitUntil(lambda: settled(window), timeout=WAIT)
            if bar == 9:
                press(qtbot, window, Key.Key_S, SHIFT)
        select(window, 7)
        press(qtbot, window, Key.Key_S, SHIFT)
        select(window, 6)
        press(qtbot, window, Key.Key_C, CTRL | SHIFT)
        assert min(bar for bar, _ in window.workspace.selection) == 5
        press(qtbot, window, Key.Key_S, SHIFT)
        assert document(window).sections == ()


class TestGoing:
    def test_doubtful_lines_come_in_turn(self, qtbot, window):
        doubtful = [line.bar for line in window.workspace.state.grid.bar_lines if line.doubtful]
        if not doubtful:
            assert not window.actions_by_id["next_doubtful"].isEnabled()
            assert "No bar line is doubtful" in window.actions_by_id["next_doubtful"].toolTip()
            return
        for bar in [*doubtful, doubtful[0]]:
            press(qtbot, window, Key.Key_D)
            assert window.workspace.selection == {(bar, 1)}
        press(qtbot, window, Key.Key_D, SHIFT)
        assert window.workspace.selection == {(doubtful[-1], 1)}

    def test_a_click_in_look_first_goes_there(self, qtbot, window):
        listed = window.side_panel.look_first
        line = listed.lines.lines[1]
        qtbot.mouseClick(
            listed.viewport(), Qt.MouseButton.LeftButton, pos=listed.visualRect(listed.lines.index(1)).center()
        )
        assert window.workspace.selection == {(line.bar, 1)}
        assert window.span.start <= line.time <= window.span.end

    def test_least_sure_come_first(self, window):
        sure = [line.confidence for line in window.side_panel.look_first.lines.lines]
        assert sure == sorted(sure)

    def test_selecting(self, qtbot, window):
        press(qtbot, window, Key.Key_A, CTRL)
        assert window.workspace.selection == {(bar, 1) for bar in times(window)}
        press(qtbot, window, Key.Key_Escape)
        assert window.workspace.selection == frozenset()
        select(window, 4)
        press(qtbot, window, Key.Key_End, CTRL | SHIFT)
        assert window.workspace.selection == {(bar, 1) for bar in times(window) if bar >= 4}
        press(qtbot, window, Key.Key_Escape)
        select(window, 4)
        press(qtbot, window, Key.Key_Down, CTRL)
        assert window.workspace.selection == {(5, 1)}
        press(qtbot, window, Key.Key_Up, CTRL)
        assert window.workspace.selection == {(4, 1)}

    def test_zoom(self, qtbot, window):
        whole = window.span.end - window.span.start
        press(qtbot, window, Key.Key_Plus)
        assert window.span.end - window.span.start < whole
        press(qtbot, window, Key.Key_0, CTRL)
        assert window.span.end - window.span.start == whole
        select(window, 4)
        press(qtbot, window, Key.Key_Z)
        line = bar_line(window, 4)
        assert window.span.start < line.time < window.span.end
        assert window.span.end - window.span.start < whole / 3

    def test_what_was_done_leads_back_and_forth(self, qtbot, window):
        for bar in (3, 5):
            select(window, bar)
            press(qtbot, window, Key.Key_K)
        done = window.side_panel.done
        assert done.steps.rowCount() == 3
        for row in (0, 2, 1):
            place = done.visualRect(done.steps.index(row)).center()
            qtbot.mouseClick(done.viewport(), Qt.MouseButton.LeftButton, pos=place)
            assert window.workspace.state.at == row
        assert "undone" in done.steps.data(done.steps.index(2), Qt.ItemDataRole.AccessibleTextRole)
        qtbot.waitUntil(lambda: settled(window), timeout=WAIT)

    def test_pages_follow_their_keys_and_their_buttons(self, qtbot, window):
        pages = (window.timeline, window.bar_stack, window.cutting.page, window.hand_over)
        for key, page in zip((Key.Key_1, Key.Key_2, Key.Key_3, Key.Key_4), pages, strict=True):
            qtbot.keyClick(window, key, CTRL)
            assert window.views.stack.currentWidget() is page
        for button, page in zip(window.segments.buttons, pages, strict=True):
            qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
            assert window.views.stack.currentWidget() is page
            assert button.isChecked()


class TestManners:
    def test_what_cannot_be_done_says_why(self, window):
        action = window.actions_by_id["let_go"]
        assert not action.isEnabled()
        assert "Select a bar line first" in action.toolTip()
        select(window, 3)
        assert not action.isEnabled()
        assert "suggested only" in action.toolTip()

    def test_the_context_menu_means_the_moment_under_the_pointer(self, qtbot, window):
        middle = 0.5 * (bar_line(window, 5).time + bar_line(window, 6).time)
        window.timeline.menu_wanted.emit(Empty(middle), QPoint(300, 300))
        qtbot.waitUntil(window.context_menu.isVisible, timeout=WAIT)
        window.context_menu.close()
        window.actions_by_id["place_here"].trigger()
        qtbot.waitUntil(lambda: settled(window), timeout=WAIT)
        assert min(abs(pin.time - middle) for pin in document(window).pins) < 10 * window.span.seconds_per_pixel

    def test_counts_and_title(self, qtbot, window):
        select(window, 4)
        press(qtbot, window, Key.Key_K)
        bars = len(times(window)) - 1
        assert window.strip.counts.text().split("   ·   ")[:2] == [f"{bars} bars", "1 placed"]
        assert window.windowTitle().startswith("four phrases.mid")

    def test_messages_come_and_can_be_read_again(self, qtbot, window):
        window.workspace.message.emit(Message("Nothing to see.", "Details of it.", warning=True))
        assert window.strip.text.whole() == "Nothing to see."
        qtbot.mouseClick(window.strip.copy, Qt.MouseButton.LeftButton)
        assert QApplication.clipboard().text() == "Nothing to see.\n\nDetails of it."
        window.strip.clear()
        assert window.strip.text.whole() == ""
        qtbot.keyClick(window, Key.Key_M, CTRL)
        first = window.sheets.current
        assert first.list.item(0).text() == "Not done: Nothing to see."
        window.actions_by_id["show_messages"].trigger()
        assert window.sheets.current is not first
        assert not first.isVisible()
        window.sheets.current.close()

    def test_a_key_is_chosen_anew_and_remembered(self, qtbot, window):
        window.sheets.show_preferences()
        dialog = window.sheets.current
        table = dialog.keys
        table.choose_row("keep_line")
        table.field.setKeySequence(QKeySequence("P"))
        qtbot.mouseClick(table.take, Qt.MouseButton.LeftButton)
        assert "P belongs to" in table.note.text()
        table.field.setKeySequence(QKeySequence("Ctrl+K"))
        qtbot.mouseClick(table.take, Qt.MouseButton.LeftButton)
        assert table.note.text() == ""
        dialog.accept()
        assert window.settings.keys == {"keep_line": ["Ctrl+K"]}
        select(window, 4)
        press(qtbot, window, Key.Key_K)
        assert document(window).pins == ()
        press(qtbot, window, Key.Key_K, CTRL)
        assert len(document(window).pins) == 1
        window.sheets.show_preferences()
        qtbot.mouseClick(window.sheets.current.keys.all_usual, Qt.MouseButton.LeftButton)
        window.sheets.current.accept()
        assert window.settings.keys == {}

    def test_dark_and_light(self, qtbot, window):
        parts = (
            window,
            window.strip,
            window.question,
            window.side_panel.done,
            window.timeline.stage,
            window.empty,
        )
        for appearance, dark in (("dark", True), ("light", False), ("dark", True), ("light", False)):
            window.theme.choose(appearance)
            for part in parts:
                qtbot.waitUntil(
                    lambda part=part, dark=dark: colours_for(part.palette()).dark == dark, timeout=WAIT
                )

    def test_leaving_work_is_asked_about(self, qtbot, window, take):
        select(window, 4)
        press(qtbot, window, Key.Key_K)
        window.opening.close_take()
        box = answer(qtbot, window, QMessageBox)
        assert "1 thing" in box.informativeText()
        qtbot.mouseClick(box.escapeButton(), Qt.MouseButton.LeftButton)
        assert window.workspace.state.take is not None
        window.opening.close_take()
        box = answer(qtbot, window, QMessageBox)
        leave = next(each for each in box.buttons() if each.text() == "Leave without saving")
        qtbot.mouseClick(leave, Qt.MouseButton.LeftButton)
        assert window.workspace.state.take is None
        assert window.views.stack.currentWidget() is window.empty

    def test_every_dialog_opens_and_closes(self, qtbot, window):
        for name in ("show_keys", "show_about", "show_messages", "show_preferences"):
            window.actions_by_id[name].trigger()
            assert window.sheets.current.isVisible()
            qtbot.keyClick(window.sheets.current, Key.Key_Escape)

    def test_tab_goes_from_the_tools_to_the_page_the_panel_and_the_strip(self, qtbot, window):
        parts = (window.tools, window.views.stack, window.side_panel, window.strip)
        window.tools.widgetForAction(window.actions_by_id["open_take"]).setFocus()
        reached = []
        for _ in range(40):
            part = next((i for i, each in enumerate(parts) if each.isAncestorOf(QApplication.focusWidget())), -1)
            if reached[-1:] != [part]:
                reached.append(part)
            if len(reached) > 1 and part == 0:
                break
            qtbot.keyClick(QApplication.focusWidget(), Key.Key_Tab)
        assert [part for part in reached if part >= 0] == [0, 1, 2, 3, 0]


class TestOpening:
    def test_a_file_dropped_on_an_empty_window_is_opened_and_remembered(self, qtbot, shared, take):
        shared.workspace.close_take()
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(take.path))])
        where, copy = QPoint(400, 300), Qt.DropAction.CopyAction
        buttons, held = Qt.MouseButton.LeftButton, Held.NoModifier
        entering = QDragEnterEvent(where, copy, data, buttons, held)
        QApplication.sendEvent(shared, entering)
        assert entering.isAccepted()
        QApplication.sendEvent(shared, QDropEvent(QPointF(where), copy, data, buttons, held))
        qtbot.waitUntil(lambda: settled(shared), timeout=WAIT)
        assert shared.settings.recent[0] == take.path
        assert shared.recent_menu.actions()[0].text() == f"&1 {take.path.name}"

    def test_a_recent_take_is_opened_from_the_empty_window(self, qtbot, shared, take):
        opened(qtbot, shared, take.path)
        shared.workspace.close_take()
        listed = shared.empty.recent
        assert listed.count() >= 1
        place = listed.visualItemRect(listed.item(0)).center()
        qtbot.mouseClick(listed.viewport(), Qt.MouseButton.LeftButton, pos=place)
        qtbot.waitUntil(lambda: settled(shared), timeout=WAIT)

    def test_what_is_no_take_is_refused_in_one_sentence(self, qtbot, shared, tmp_path):
        path = tmp_path / "notes.txt"
        path.write_text("no music", encoding="utf-8")
        shared.workspace.close_take()
        with qtbot.waitSignal(shared.workspace.message, timeout=WAIT) as said:
            shared.open_path(path)
        assert said.args[0].warning
        assert "notes.txt" in said.args[0].text


def test_ten_windows_come_and_go(qtbot, take, tmp_path):
    for _ in range(10):
        with window_of(tmp_path) as window:
            window.open_path(take.path)
            qtbot.waitUntil(lambda: window.workspace.state.take is not None, timeout=WAIT)


def test_the_window_lies_as_it_did(qtbot, tmp_path, take):
    with window_of(tmp_path) as window:
        opened(qtbot, window, take.path)
        window.resize(1000, 700)
        window.views.show_bar_stack()
        window.views.toggle_side_panel()
    with window_of(tmp_path) as window:
        assert window.views.page is window.bar_stack
        opened(qtbot, window, take.path)
        assert window.side_panel.isHidden()
        window.views.forget_layout()
        assert not window.side_panel.isHidden()


def test_a_dialog_has_the_size_it_had_last(qtbot, tmp_path):
    for opens in range(2):
        with window_of(tmp_path) as window:
            window.sheets.show_keys()
            dialog = window.sheets.current
            if opens:
                assert (dialog.width(), dialog.height()) == (700, 480)
            dialog.resize(700, 480)
            dialog.reject()


def test_the_menu_under_the_right_button_is_short_and_holds_all_of_its_commands(window):
    menu = window.context_menu
    within = [action for action in menu.actions() if action.menu() is not None]
    assert len(menu.actions()) <= 20
    names = {action.objectName() for action in menu.actions()}
    names |= {action.objectName() for one in within for action in one.menu().actions()}
    assert {name for _, group in CONTEXT for name in group} <= names


def test_the_strip_says_where_the_pointer_is(qtbot, window):
    point(qtbot, window, bar_line(window, 3).time + 0.01)
    assert window.strip.where.text().startswith("bar 3 beat 1, ")
    window.pointer.eventFilter(window.timeline.stage, QEvent(QEvent.Type.Leave))
    assert window.strip.where.text() == ""
