"""The bar stack under a real mouse and keyboard, and by the pixels it paints. Gestures are the project's own."""

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QContextMenuEvent, QKeyEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.bar_stack import BarStack
from app.colours import DARK, LIGHT
from app.span import Span
from app.stack.layout import GUTTER, HEADING, SHORTEST, TALLEST, TITLES
from app.stack.view import NO_BARS, NO_TAKE, ROW
from app.state import State
from app.theme import palette_for
from app.timeline.patience import PATIENCE
from app.timeline.picking import Beat as BeatThere
from app.timeline.picking import Line
from app.workspace import Workspace
from core.document import Section
from core.edits import Place
from core.grid import Beat, Grid, Pin
from core.metre import Metre, TimeSignature
from tests.app.shell import opened, settled, window_of
from tests.app.takes import play_midi
from tests.app.timeline.hand import click, double_click, drag, move, press, release
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid

Key, Held = Qt.Key, Qt.KeyboardModifier
ALT, CTRL, SHIFT = Held.AltModifier, Held.ControlModifier, Held.ShiftModifier
BARS = 60


class Rows:
    """60 bars of 2 s from 1 s on, onsets on every beat but that on bar line 10 is 80 ms late."""

    def __init__(self, qtbot, *, size=(1000, 500), bars=BARS, **document):
        self.grid = steady_grid(bars, placed={(4, 1), (7, 3)}, doubtful={(6, 1)})
        beats = self.grid.beat_times.tolist()
        beats[36] += 0.08
        self.workspace = StillWorkspace(state_of(self.grid, duration=130.0, onsets=beats, **document))
        self.span = Span()
        self.span.set_duration(130.0)
        self.stack = BarStack(self.workspace, self.span)
        self.stack.setPalette(palette_for(LIGHT))
        qtbot.addWidget(self.stack)
        self.stack.resize(*size)
        with qtbot.waitExposed(self.stack):
            self.stack.show()
        self.stack.setFocus()

    @property
    def view(self):
        return self.stack.viewport()

    def x(self, phase):
        return self.stack.x_of(phase)

    def y(self, bar):
        return self.stack.y_of(bar)

    @property
    def edit(self):
        (edit,) = self.workspace.edits
        return edit

    @property
    def bar(self):
        ((bar, _),) = self.workspace.selection
        return bar

    def key(self, key, held=Held.NoModifier):
        QTest.keyClick(self.stack, key, held)

    def pixel(self, x, y):
        return self.view.grab().toImage().pixelColor(round(x), round(y))


@pytest.fixture
def rows(qtbot):
    return Rows(qtbot)


# Dragging


def test_the_left_line_of_a_row_is_dragged_in_it(rows):
    drag(rows.view, rows.x(0.0), rows.x(0.1), rows.y(3), ALT)
    assert rows.edit.pin == Pin(pytest.approx(5.2, abs=0.01), 3, 1)


def test_the_right_line_of_a_row_is_the_next_bar_line(rows):
    drag(rows.view, rows.x(1.0), rows.x(0.9), rows.y(2), ALT)
    assert rows.edit.pin == Pin(pytest.approx(4.8, abs=0.01), 3, 1)


def test_a_beat_is_dragged_too(rows):
    drag(rows.view, rows.x(0.5), rows.x(0.55), rows.y(2), ALT)
    assert rows.edit.pin == Pin(pytest.approx(4.1, abs=0.01), 2, 3)


def test_it_snaps_to_an_onset_unless_alt_is_held(rows):
    drag(rows.view, rows.x(0.0), rows.x(0.044), rows.y(10))
    drag(rows.view, rows.x(0.0), rows.x(0.044), rows.y(10), ALT)
    snapped, free = rows.workspace.edits
    assert snapped == Place(Pin(pytest.approx(19.08, abs=1e-9), 10, 1))
    assert free.pin.time != snapped.pin.time


def test_where_lines_are_not_to_snap_alt_makes_them(rows):
    rows.stack.set_snapping(False)
    drag(rows.view, rows.x(0.0), rows.x(0.044), rows.y(10), ALT)
    assert rows.edit.pin.time == pytest.approx(19.08, abs=1e-9)


def test_a_line_does_not_pass_its_neighbours(rows):
    drag(rows.view, rows.x(1.0), rows.x(-0.1), rows.y(2), ALT)
    assert 3.0 < rows.edit.pin.time < 3.1


def test_escape_lets_go_and_nothing_is_done(rows):
    press(rows.view, rows.x(0.0), rows.y(3))
    move(rows.view, rows.x(0.1), rows.y(3))
    rows.key(Key.Key_Escape)
    release(rows.view, rows.x(0.1), rows.y(3))
    assert rows.workspace.edits == []


def test_a_line_brought_back_to_where_it_was_is_no_edit(rows):
    press(rows.view, rows.x(0.0), rows.y(3))
    move(rows.view, rows.x(0.1), rows.y(3), ALT)
    move(rows.view, rows.x(0.0), rows.y(3), ALT)
    release(rows.view, rows.x(0.0), rows.y(3), ALT)
    assert rows.workspace.edits == []


def test_while_it_is_dragged_its_row_keeps_still_and_the_one_before_is_stretched(rows):
    beat = rows.x(0.5), rows.y(3)
    before, after = rows.y(2), rows.x(0.25)
    onset = rows.pixel(after, before + 6)
    press(rows.view, rows.x(0.0), rows.y(3))
    move(rows.view, rows.x(0.2), rows.y(3), ALT)
    assert rows.pixel(rows.x(0.2), beat[1]) == LIGHT.placed
    assert rows.pixel(after, before + 6) != onset
    release(rows.view, rows.x(0.2), rows.y(3), ALT)


def test_where_the_dragged_line_was_stays_marked(rows):
    middle = [(rows.x(0.5), rows.y(3) + dy) for dy in range(-4, 5)]
    rows.workspace.show(onsets=state_of(rows.grid, duration=130.0).onsets)
    press(rows.view, *middle[4])
    move(rows.view, rows.x(0.6), rows.y(3), ALT)
    image = rows.view.grab().toImage()
    dots = [image.pixelColor(round(x), round(y)) == LIGHT.text for x, y in middle]
    assert any(dots)
    assert not all(dots)
    rows.key(Key.Key_Escape)


def test_hiding_the_rows_drops_what_is_in_the_hand(rows):
    press(rows.view, rows.x(0.0), rows.y(3))
    move(rows.view, rows.x(0.1), rows.y(3))
    rows.stack.hide()
    rows.stack.show()
    release(rows.view, rows.x(0.1), rows.y(3))
    assert rows.workspace.edits == []


def test_another_grid_without_the_line_takes_it_out_of_the_hand(rows):
    press(rows.view, rows.x(0.0), rows.y(9))
    move(rows.view, rows.x(0.1), rows.y(9))
    rows.workspace.show(grid=steady_grid(5))
    release(rows.view, rows.x(0.1), rows.y(9))
    assert rows.workspace.edits == []


# Clicking


def test_a_click_selects_the_bar_and_the_timeline_follows(rows):
    rows.span.show(100.0, 110.0)
    click(rows.view, rows.x(0.4), rows.y(8))
    assert rows.workspace.selection == {(8, 1)}
    assert rows.span.start < 15.0 < rows.span.end
    assert rows.workspace.edits == []


def test_a_click_on_a_line_selects_that(rows):
    click(rows.view, rows.x(0.25), rows.y(8))
    assert rows.workspace.selection == {(8, 2)}


def test_a_click_on_the_number_goes_there(qtbot, rows):
    with qtbot.waitSignal(rows.stack.went_to) as told:
        click(rows.view, GUTTER / 2, rows.y(8))
    assert told.args == [8]
    assert rows.bar == 8


def test_a_double_click_on_a_row_goes_there(qtbot, rows):
    with qtbot.waitSignal(rows.stack.went_to) as told:
        double_click(rows.view, rows.x(0.4), rows.y(8))
    assert told.args == [8]
    assert rows.workspace.edits == []


def test_a_double_click_on_a_line_accepts_it_where_it_is(rows):
    double_click(rows.view, rows.x(1.0), rows.y(8))
    assert rows.edit == Place(Pin(17.0, 9, 1))


def test_a_double_click_on_a_placed_line_does_nothing(rows):
    double_click(rows.view, rows.x(0.0), rows.y(4))
    assert rows.workspace.edits == []


def test_shift_chooses_all_between_and_ctrl_one_more(rows):
    click(rows.view, rows.x(0.4), rows.y(3))
    click(rows.view, rows.x(0.4), rows.y(6), SHIFT)
    assert rows.workspace.selection == {(bar, 1) for bar in (3, 4, 5, 6)}
    click(rows.view, rows.x(0.4), rows.y(9), CTRL)
    assert rows.workspace.selection == {(bar, 1) for bar in (3, 4, 5, 6, 9)}
    click(rows.view, rows.x(0.4), rows.y(9), CTRL)
    assert (9, 1) not in rows.workspace.selection


def test_the_titles_take_no_click(rows):
    click(rows.view, rows.x(0.4), TITLES / 2)
    assert not rows.workspace.selection


# Keys


def test_keys_go_from_bar_to_bar(rows):
    seen = []
    for key in (Key.Key_Down, Key.Key_Down, Key.Key_Up, Key.Key_End, Key.Key_Home):
        rows.key(key)
        seen.append(rows.bar)
    assert seen == [2, 3, 2, BARS, 1]


def test_page_keys_go_a_screen_on_and_the_bar_stays_on_screen(rows):
    rows.key(Key.Key_PageDown)
    page = rows.bar - 1
    assert 5 < page < 500 / ROW
    rows.key(Key.Key_PageDown)
    assert rows.bar == 1 + 2 * page
    assert TITLES < rows.y(rows.bar) < 500
    rows.key(Key.Key_PageUp)
    assert rows.bar == 1 + page


def test_shift_with_keys_chooses_more_and_more(rows):
    rows.key(Key.Key_Down)
    rows.key(Key.Key_Down, SHIFT)
    rows.key(Key.Key_Down, SHIFT)
    assert rows.workspace.selection == {(2, 1), (3, 1), (4, 1)}


def test_left_and_right_go_from_beat_to_beat_and_over_into_the_next_row(rows):
    click(rows.view, rows.x(0.75), rows.y(2))
    seen = []
    for key in (Key.Key_Right, Key.Key_Right, Key.Key_Left, Key.Key_Left):
        rows.key(key)
        seen.extend(rows.workspace.selection)
    assert seen == [(3, 1), (3, 2), (3, 1), (2, 4)]
    assert rows.stack.bar == 2


def test_enter_goes_to_the_bar(qtbot, rows):
    rows.key(Key.Key_Down)
    with qtbot.waitSignal(rows.stack.went_to) as told:
        rows.key(Key.Key_Return)
    assert told.args == [2]


@pytest.mark.parametrize("key", [Key.Key_Down, Key.Key_PageUp, Key.Key_Plus, Key.Key_Minus, Key.Key_Return])
def test_its_own_keys_are_not_left_to_the_window(rows, key):
    event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Held.NoModifier)
    event.ignore()
    QApplication.sendEvent(rows.stack, event)
    assert event.isAccepted()


@pytest.mark.parametrize("key", [Key.Key_P, Key.Key_F2, Key.Key_Delete, Key.Key_Escape])
def test_all_others_are(rows, key):
    event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Held.NoModifier)
    event.ignore()
    QApplication.sendEvent(rows.stack, event)
    assert not event.isAccepted()


# Height and scrolling


def turn(rows, notches, y, held=CTRL):
    at = QPointF(300, y)
    event = QWheelEvent(
        at, rows.view.mapToGlobal(at), QPoint(), QPoint(0, 120 * notches), Qt.MouseButton.NoButton, held,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(rows.view, event)


def test_ctrl_and_the_wheel_make_rows_higher_at_the_pointer(rows):
    rows.stack.verticalScrollBar().setValue(400)
    y = rows.y(25)
    turn(rows, 1, y)
    assert rows.stack.layout_of_rows.row_height > ROW
    assert rows.y(25) == pytest.approx(y, abs=1.5)


def test_the_wheel_alone_scrolls(rows):
    turn(rows, -1, 200, Held.NoModifier)
    assert rows.stack.verticalScrollBar().value() > 0
    assert rows.stack.layout_of_rows.row_height == ROW


def test_keys_make_rows_higher_and_lower_within_bounds(rows):
    for _ in range(30):
        rows.key(Key.Key_Plus, CTRL)
    assert rows.stack.layout_of_rows.row_height == TALLEST
    for _ in range(30):
        rows.key(Key.Key_Minus)
    assert rows.stack.layout_of_rows.row_height == SHORTEST


def test_six_hundred_rows_paint_only_those_on_screen(qtbot, monkeypatch):
    rows = Rows(qtbot, bars=600)
    seen = []
    layout = type(rows.stack.layout_of_rows)
    whole = layout.visible
    monkeypatch.setattr(layout, "visible", lambda *args: seen.append(whole(*args)) or seen[-1])
    rows.key(Key.Key_End)
    rows.view.grab()
    assert seen
    assert all(last - first <= 500 / ROW + 2 for first, last in seen)


# What is shown


def test_it_follows_a_selection_made_elsewhere(rows):
    rows.workspace.select({(50, 1)})
    assert TITLES < rows.y(50) < 500
    assert rows.stack.bar == 50
    assert "Bar 50" in rows.stack.accessibleDescription()


def test_where_the_bar_is_gone_keys_act_on_the_one_next_to_it(rows):
    rows.key(Key.Key_End)
    rows.workspace.show(grid=steady_grid(20))
    assert rows.stack.bar == 20


def test_suggestions_that_are_soon_replaced_do_not_flicker(qtbot, rows):
    before = rows.view.grab().toImage()
    rows.workspace.show(pending=True)
    assert rows.view.grab().toImage() == before
    qtbot.waitUntil(lambda: rows.view.grab().toImage() != before, timeout=20 * PATIENCE)
    rows.workspace.show(pending=False)
    assert rows.view.grab().toImage() == before
    rows.workspace.show(pending=True)
    rows.stack.hide()
    assert not rows.stack._patience.waiting


def test_a_bar_chosen_while_it_was_hidden_is_on_screen_when_it_is_shown(rows):
    rows.stack.hide()
    rows.workspace.select({(50, 1)})
    rows.stack.show()
    assert TITLES < rows.y(50) < 500


def test_another_take_begins_at_its_first_bar(rows):
    rows.key(Key.Key_End)
    rows.workspace.show(
        **{name: getattr(state_of(steady_grid(30), duration=70.0), name) for name in ("take", "grid")}
    )
    assert rows.stack.bar == 1
    assert rows.stack.verticalScrollBar().value() == 0


def test_sections_and_metres_have_headings(qtbot):
    rows = Rows(qtbot, sections=(Section(5, "Chorus"),))
    assert rows.stack.layout_of_rows.headings[:6] == ("4/4", "", "", "", "Chorus", "")
    assert rows.pixel(900, rows.y(5) - ROW / 2 - HEADING / 2) == LIGHT.sections[0]


def test_another_metre_has_columns_of_its_own_and_they_are_named(rows):
    metre = Metre(((1, TimeSignature(4, 4)), (3, TimeSignature(3, 4))))
    beats = [Beat(0.5 * i, 1 + i // 4, 1 + i % 4, False, 0.8) for i in range(8)]
    beats += [Beat(4 + 0.5 * i, 3 + i // 3, 1 + i % 3, False, 0.8) for i in range(7)]
    rows.workspace.show(grid=Grid(metre, tuple(beats)), onsets=state_of(rows.grid, duration=130.0).onsets)
    image = rows.view.grab().toImage()

    def column(bar, phase):
        return image.pixelColor(round(rows.x(phase)), round(rows.y(bar))) == LIGHT.beat

    assert [phase for phase in (0.25, 1 / 3, 0.5, 2 / 3, 0.75) if column(2, phase)] == [0.25, 0.5, 0.75]
    assert [phase for phase in (0.25, 1 / 3, 0.5, 2 / 3, 0.75) if column(3, phase)] == [1 / 3, 2 / 3]
    heading = round(rows.y(3) - ROW / 2 - HEADING / 2)
    x = round(rows.x(2 / 3))
    assert {image.pixelColor(x + dx, heading + dy).name() for dx in range(-4, 5) for dy in range(-5, 6)} != {
        LIGHT.ground.name()
    }


def test_placed_suggested_and_doubtful_lines_differ_in_shape(rows):
    rows.workspace.show(onsets=state_of(rows.grid, duration=130.0).onsets)
    image = rows.view.grab().toImage()
    x = round(rows.x(0.0))

    def column(bar, at):
        middle, half = round(rows.y(bar)), int(ROW / 2) - 1
        ground = image.pixelColor(at + 12, middle)
        return [image.pixelColor(at, y) != ground for y in range(middle - half, middle + half)]

    assert all(column(4, x - 1))
    assert all(column(4, x + 1))  # thick
    assert all(column(3, x))
    assert not any(column(3, x + 2))  # thin
    assert any(column(6, x))
    assert not all(column(6, x))  # dashed


def test_an_onset_on_a_placed_bar_line_hides_neither(rows):
    image = rows.view.grab().toImage()
    x, y = round(rows.x(0.0)), round(rows.y(4)) + 2
    assert image.pixelColor(x - 3, y) == image.pixelColor(x + 2, y) == LIGHT.placed
    assert image.pixelColor(x, y) not in (LIGHT.placed, LIGHT.lane, LIGHT.lane_odd)


def test_a_wrong_bar_line_breaks_the_column(rows):
    image = rows.view.grab().toImage()
    x, foot = round(rows.x(0.0)), round(ROW / 2) - 4

    def struck(bar, at):
        return image.pixelColor(at, round(rows.y(bar)) + foot) not in (LIGHT.lane, LIGHT.lane_odd)

    late = round(rows.x(0.04))
    assert struck(9, x)
    assert struck(10, late)
    assert not struck(9, late)


def test_colours_follow_the_palette(rows):
    assert rows.pixel(5, TITLES + HEADING + 3) in (LIGHT.lane, LIGHT.lane_odd, LIGHT.onset)
    rows.stack.setPalette(palette_for(DARK))
    ground = rows.pixel(rows.view.width() - 4, 3)
    assert ground == QColor(DARK.ground)


def test_the_bar_that_keys_act_on_is_framed_while_they_do(rows):
    rows.key(Key.Key_Down)
    edge = rows.view.width() / 2, rows.y(2) - ROW / 2
    assert rows.pixel(*edge) == LIGHT.text
    rows.stack.clearFocus()
    assert rows.pixel(*edge) != LIGHT.text


@pytest.mark.parametrize("take", [False, True])
def test_without_bars_a_sentence_says_what_comes(qtbot, take):
    state = state_of(steady_grid(3), duration=10.0)
    workspace = StillWorkspace(State(take=state.take) if take else State())
    stack = BarStack(workspace, Span())
    qtbot.addWidget(stack)
    stack.resize(600, 300)
    stack.show()
    image = stack.viewport().grab().toImage()
    inked = {image.pixelColor(x, y).name() for x in range(100, 500) for y in range(135, 165)}
    assert len(inked) > 1
    assert (NO_BARS if take else NO_TAKE).endswith(".")
    for key in (Key.Key_Down, Key.Key_Return, Key.Key_Plus):
        QTest.keyClick(stack, key)
    click(stack.viewport(), 300, 200)
    assert not workspace.selection


def test_a_context_menu_is_asked_for_the_line_under_the_pointer(qtbot, rows):
    def ask(x, y, reason=QContextMenuEvent.Reason.Mouse):
        at = QPoint(round(x), round(y))
        with qtbot.waitSignal(rows.stack.menu_wanted) as told:
            QApplication.sendEvent(rows.view, QContextMenuEvent(reason, at, rows.view.mapToGlobal(at)))
        return told.args[0]

    assert ask(rows.x(1.0), rows.y(8)) == Line((9, 1), 17.0)
    assert ask(rows.x(0.25), rows.y(8)) == BeatThere((8, 2), 15.5)
    assert ask(rows.x(0.4), rows.y(5)) == Line((5, 1), 9.0)
    assert rows.bar == 5
    assert ask(0, 0, QContextMenuEvent.Reason.Keyboard) == Line((5, 1), 9.0)


def test_a_line_dragged_in_the_window_is_placed_and_the_rest_suggested_again(qtbot, tmp_path):
    with window_of(tmp_path) as window:
        opened(qtbot, window, play_midi(tmp_path / "take.mid", phrases=2).path)
        window.views.show_bar_stack()
        stack, workspace = window.bar_stack, window.workspace
        assert isinstance(workspace, Workspace)
        bar = workspace.state.grid.bar_lines[2].bar
        drag(stack.viewport(), stack.x_of(0.0), stack.x_of(0.05), stack.y_of(bar), ALT)
        qtbot.waitUntil(lambda: settled(window))
        (pin,) = [pin for pin in workspace.state.document.pins if pin.bar == bar]
        assert next(line.time for line in workspace.state.grid.bar_lines if line.bar == bar) == pin.time
        assert workspace.state.at == 1
        workspace.undo()
        qtbot.waitUntil(lambda: settled(window))
        assert (bar, 1) not in workspace.state.document.placed


def test_what_changed_while_it_was_hidden_is_there_when_it_is_shown(rows):
    rows.stack.hide()
    rows.workspace.show(grid=steady_grid(20))
    rows.workspace.select({(19, 1)})
    rows.stack.show()
    assert rows.stack.bar == 19
    assert len(rows.stack.layout_of_rows.headings) == 20
    assert TITLES < rows.y(19) < 500
    assert "Bar 19" in rows.stack.accessibleDescription()
