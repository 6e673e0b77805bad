"""The stage under a real mouse and keyboard. What each gesture does is the project's own; Qt sends the events."""

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QContextMenuEvent, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.span import Span
from app.state import State
from app.timeline.patience import PATIENCE
from app.timeline.picking import Beat, Empty, Line
from app.timeline.stage import Stage
from core.edits import Insert, Place
from core.grid import Pin
from tests.app.timeline.hand import NONE, click, double_click, drag, move, press, release
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid

CTRL, SHIFT, ALT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
Y = 150  # below the heads, above the onsets


class Lane:
    """A stage of 1000 pixels over 20 s: 50 pixels a second, bars of 2 s, an onset 0.12 s after bar 5."""

    def __init__(self, qtbot, **marks):
        self.grid = steady_grid(11, bar=2.0, start=0.0, **marks)
        self.workspace = StillWorkspace(state_of(self.grid, duration=20.0, onsets=[0.0, 8.12, 12.74]))
        self.span = Span()
        self.stage = Stage(self.workspace, self.span)
        qtbot.addWidget(self.stage)
        self.span.set_duration(20.0)
        self.stage.resize(1000, 300)
        self.stage.show()
        qtbot.waitExposed(self.stage)

    def x(self, time):
        return self.span.x_of(time)

    @property
    def edit(self):
        (edit,) = self.workspace.edits
        return edit


@pytest.fixture
def lane(qtbot):
    return Lane(qtbot)


# Dragging


def test_at_the_edge_the_take_scrolls_under_the_line_up_to_its_neighbour(lane, qtbot):
    lane.span.show(7.0, 9.0)
    press(lane.stage, lane.x(8.0), Y)
    move(lane.stage, 900, Y, ALT)
    assert not lane.stage._edge.active
    move(lane.stage, 1010, Y, ALT)
    qtbot.waitUntil(lambda: lane.span.end > 9.8 and not lane.stage._edge.active, timeout=5000)
    assert lane.span.end < 10.3
    release(lane.stage, 1010, Y, ALT)
    assert lane.edit == Place(Pin(pytest.approx(9.99), 5, 1))


def test_the_take_rests_when_the_hand_comes_back_or_lets_go(lane, qtbot):
    lane.span.show(7.0, 9.0)
    press(lane.stage, lane.x(8.0), Y)
    for x in (480, -20, 300):
        move(lane.stage, x, Y)
        assert lane.stage._edge.active == (x < 0)
    move(lane.stage, -20, Y)
    QTest.keyClick(lane.stage, Qt.Key.Key_Escape)
    assert not lane.stage._edge.active
    assert lane.workspace.edits == []


def test_a_line_taken_at_the_edge_does_not_set_the_take_going(lane):
    lane.span.show(7.99, 9.99)
    press(lane.stage, lane.x(8.0), Y)
    move(lane.stage, lane.x(8.0) + 6, Y)
    assert not lane.stage._edge.active


def test_a_dragged_bar_line_snaps_to_an_onset(lane):
    drag(lane.stage, lane.x(8.0), lane.x(8.06), Y)
    assert lane.edit == Place(Pin(8.12, 5, 1))


def test_with_alt_it_does_not(lane):
    drag(lane.stage, lane.x(8.0), lane.x(8.1), Y, ALT)
    assert lane.edit == Place(Pin(pytest.approx(8.1), 5, 1))


def test_where_lines_are_not_to_snap_alt_makes_them(lane):
    lane.stage.set_snapping(False)
    drag(lane.stage, lane.x(8.0), lane.x(8.1), Y)
    drag(lane.stage, lane.x(8.0), lane.x(8.1), Y, ALT)
    assert [edit.pin.time for edit in lane.workspace.edits] == [pytest.approx(8.1), 8.12]


def test_far_from_any_onset_it_stays_under_the_hand(lane):
    drag(lane.stage, lane.x(4.0), lane.x(4.5), Y)
    assert lane.edit == Place(Pin(pytest.approx(4.5), 3, 1))


def test_it_keeps_the_distance_to_the_pointer_with_which_it_was_taken(lane):
    drag(lane.stage, lane.x(4.0) + 4, lane.x(4.5) + 4, Y)
    assert lane.edit == Place(Pin(pytest.approx(4.5), 3, 1))


def test_the_wheel_may_turn_while_a_line_is_in_the_hand(lane):
    press(lane.stage, lane.x(4.0), Y)
    move(lane.stage, lane.x(4.5), Y)
    lane.span.show(3.0, 8.0)
    move(lane.stage, lane.x(4.75), Y)
    release(lane.stage, lane.x(4.75), Y)
    assert lane.edit.pin.time == pytest.approx(4.75, abs=0.0026)


def test_a_beat_is_dragged_too(lane):
    drag(lane.stage, lane.x(4.5), lane.x(4.7), Y)
    assert lane.edit == Place(Pin(pytest.approx(4.7), 3, 2))


def test_it_never_passes_its_neighbour(lane):
    drag(lane.stage, lane.x(4.0), lane.x(7.0), Y)
    assert 4.0 < lane.edit.pin.time < 6.0
    assert lane.edit.pin.bar == 3


def test_escape_leaves_it_where_it_was(lane):
    press(lane.stage, lane.x(4.0), Y)
    move(lane.stage, lane.x(4.5), Y)
    assert lane.stage.busy
    QTest.keyClick(lane.stage, Qt.Key.Key_Escape)
    assert not lane.stage.busy
    move(lane.stage, lane.x(4.6), Y)
    release(lane.stage, lane.x(4.6), Y)
    assert lane.workspace.edits == []


def test_brought_back_it_makes_no_edit(lane):
    press(lane.stage, lane.x(4.0), Y)
    for time in (4.3, 4.0):
        move(lane.stage, lane.x(time), Y)
    release(lane.stage, lane.x(4.0), Y)
    assert lane.workspace.edits == []


def test_a_dragged_line_is_selected(lane):
    drag(lane.stage, lane.x(4.0), lane.x(4.5), Y)
    assert lane.workspace.selection == {(3, 1)}


def test_new_suggestions_do_not_take_it_out_of_the_hand(lane):
    press(lane.stage, lane.x(4.0), Y)
    move(lane.stage, lane.x(4.5), Y)
    lane.workspace.show(grid=steady_grid(11, bar=2.1, start=0.0))
    release(lane.stage, lane.x(4.5), Y)
    assert lane.edit == Place(Pin(pytest.approx(4.5), 3, 1))


def test_a_line_that_is_gone_and_a_take_that_is_closed_do(lane):
    for news in ({"grid": steady_grid(2)}, {"take": None, "grid": None, "document": None, "onsets": None}):
        lane.workspace.show(grid=lane.grid)
        press(lane.stage, lane.x(4.0), Y)
        move(lane.stage, lane.x(4.5), Y)
        lane.workspace.show(**news)
        release(lane.stage, lane.x(4.5), Y)
    assert lane.workspace.edits == []


def test_another_button_changes_nothing_for_a_line_in_the_hand(lane):
    press(lane.stage, lane.x(4.0), Y)
    move(lane.stage, lane.x(4.5), Y)
    press(lane.stage, lane.x(4.5), Y, button=Qt.MouseButton.MiddleButton)
    move(lane.stage, lane.x(4.6), Y)
    release(lane.stage, lane.x(4.6), Y, button=Qt.MouseButton.MiddleButton)
    assert lane.stage.busy
    release(lane.stage, lane.x(4.6), Y)
    assert lane.edit.pin.time == pytest.approx(4.6)


# Placing and accepting


def test_a_double_click_places_a_line_on_the_onset_beside_it(lane):
    double_click(lane.stage, lane.x(12.74) - 3, Y)
    assert isinstance(lane.edit, Insert)
    assert lane.edit.pin == Pin(12.74, 8)


def test_with_alt_it_is_placed_where_the_pointer_is(lane):
    double_click(lane.stage, lane.x(12.74) - 3, Y, ALT)
    assert lane.edit.pin.time == pytest.approx(12.68)


def test_a_double_click_on_a_line_accepts_it(lane):
    double_click(lane.stage, lane.x(6.0) + 3, Y)
    assert lane.edit == Place(Pin(6.0, 4, 1))


def test_a_placed_line_is_accepted_already(qtbot):
    lane = Lane(qtbot, placed={(4, 1)})
    double_click(lane.stage, lane.x(6.0), Y)
    assert lane.workspace.edits == []


# Selecting


def test_a_click_selects_and_a_click_beside_selects_nothing(lane, qtbot):
    click(lane.stage, lane.x(4.0), Y)
    assert lane.workspace.selection == {(3, 1)}
    with qtbot.waitSignal(lane.stage.pointed) as caught:
        click(lane.stage, lane.x(4.25), Y)
    assert caught.args == [pytest.approx(4.25, abs=0.011)]
    assert lane.workspace.selection == frozenset()


def test_control_takes_lines_in_and_out(lane):
    click(lane.stage, lane.x(4.0), Y)
    click(lane.stage, lane.x(8.5), Y, CTRL)
    assert lane.workspace.selection == {(3, 1), (5, 2)}
    click(lane.stage, lane.x(4.0), Y, CTRL)
    assert lane.workspace.selection == {(5, 2)}


def test_shift_takes_all_bar_lines_up_to_it_from_where_the_range_began(lane):
    click(lane.stage, lane.x(8.0), Y)
    click(lane.stage, lane.x(4.0), Y, SHIFT)
    assert lane.workspace.selection == {(3, 1), (4, 1), (5, 1)}
    click(lane.stage, lane.x(12.0), Y, SHIFT)
    assert lane.workspace.selection == {(5, 1), (6, 1), (7, 1)}
    click(lane.stage, lane.x(10.5), Y, SHIFT)
    assert lane.workspace.selection == {(5, 1), (6, 1)}
    click(lane.stage, lane.x(4.0), Y, SHIFT)
    assert lane.workspace.selection == {(3, 1), (4, 1), (5, 1)}


def test_a_shift_drag_beside_the_lines_takes_what_it_passes(lane):
    drag(lane.stage, lane.x(3.25), lane.x(8.2), Y, SHIFT)
    assert lane.workspace.selection == {(3, 1), (4, 1), (5, 1)}
    drag(lane.stage, lane.x(13.25), lane.x(11.75), Y, SHIFT | CTRL)
    assert lane.workspace.selection == {(3, 1), (4, 1), (5, 1), (7, 1)}
    assert lane.span.start == 0.0


@pytest.mark.parametrize("button", [Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton])
def test_a_plain_drag_beside_the_lines_scrolls(lane, button):
    lane.span.show(4.0, 14.0)
    drag(lane.stage, 520, 420, Y, NONE, button)
    assert lane.span.start == pytest.approx(5.0)
    assert lane.workspace.selection == frozenset()
    assert lane.workspace.edits == []


# Keys


def test_keys_go_from_line_to_line(lane):
    stage = lane.stage
    click(stage, lane.x(4.0), Y)
    for key, place in (
        (Qt.Key.Key_Right, (4, 1)),
        (Qt.Key.Key_Down, (4, 2)),
        (Qt.Key.Key_Left, (4, 1)),
        (Qt.Key.Key_Up, (3, 4)),
        (Qt.Key.Key_Home, (1, 1)),
        (Qt.Key.Key_End, (11, 1)),
    ):
        QTest.keyClick(stage, key)
        assert lane.workspace.selection == {place}
        assert stage.at == place


def test_with_shift_they_select_more_and_more(lane):
    click(lane.stage, lane.x(4.0), Y)
    for _ in range(2):
        QTest.keyClick(lane.stage, Qt.Key.Key_Right, SHIFT)
    assert lane.workspace.selection == {(3, 1), (4, 1), (5, 1)}
    for _ in range(3):
        QTest.keyClick(lane.stage, Qt.Key.Key_Left, SHIFT)
    assert lane.workspace.selection == {(2, 1), (3, 1)}
    for _ in range(2):
        QTest.keyClick(lane.stage, Qt.Key.Key_Down, SHIFT)
    assert lane.workspace.selection == {(3, 1), (4, 1)}


def test_the_line_a_key_leads_to_comes_on_screen(lane):
    lane.span.show(0.0, 5.0)
    click(lane.stage, lane.x(4.0), Y)
    QTest.keyClick(lane.stage, Qt.Key.Key_Right)
    QTest.keyClick(lane.stage, Qt.Key.Key_Right)
    assert lane.span.start < 8.0 < lane.span.end


def test_a_selection_made_elsewhere_is_gone_on_from(lane):
    lane.workspace.select({(7, 1)})
    QTest.keyClick(lane.stage, Qt.Key.Key_Right)
    assert lane.workspace.selection == {(8, 1)}


def test_the_lane_keeps_its_keys_from_shortcuts_and_leaves_the_rest(lane):
    def kept(key, held=NONE):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, held)
        event.ignore()
        QApplication.sendEvent(lane.stage, event)
        return event.isAccepted()

    assert kept(Qt.Key.Key_Left)
    assert kept(Qt.Key.Key_Right, SHIFT)
    assert not kept(Qt.Key.Key_Left, CTRL)
    assert not kept(Qt.Key.Key_Escape)
    press(lane.stage, lane.x(4.0), Y)
    assert kept(Qt.Key.Key_Escape)
    release(lane.stage, lane.x(4.0), Y)


# For people who hear the window


def test_the_selected_bar_is_described(lane):
    assert lane.stage.accessibleName() == "Bar lines"
    click(lane.stage, lane.x(4.0), Y)
    assert lane.stage.accessibleDescription() == "Bar 3, suggested, 0:04.000, 120 a minute"
    click(lane.stage, lane.x(4.25), Y)
    assert lane.stage.accessibleDescription() == "Nothing selected"


def test_tab_reaches_it(lane):
    assert lane.stage.focusPolicy() & Qt.FocusPolicy.TabFocus


# Menu


def menu(stage, x, reason=QContextMenuEvent.Reason.Mouse):
    QApplication.sendEvent(stage, QContextMenuEvent(reason, QPoint(round(x), Y), stage.mapToGlobal(QPoint(5, 5))))


def test_a_menu_is_asked_for_what_is_under_the_pointer(lane, qtbot):
    with qtbot.waitSignal(lane.stage.menu_wanted) as caught:
        menu(lane.stage, lane.x(4.0))
    assert caught.args == [Line((3, 1), 4.0), lane.stage.mapToGlobal(QPoint(5, 5))]
    assert lane.workspace.selection == {(3, 1)}
    with qtbot.waitSignal(lane.stage.menu_wanted) as caught:
        menu(lane.stage, lane.x(4.5))
    assert caught.args[0] == Beat((3, 2), 4.5)
    with qtbot.waitSignal(lane.stage.menu_wanted) as caught:
        menu(lane.stage, lane.x(4.26))
    assert isinstance(caught.args[0], Empty)


def test_a_menu_on_a_selected_line_leaves_the_selection(lane):
    lane.workspace.select({(3, 1), (4, 1)})
    menu(lane.stage, lane.x(4.0))
    assert lane.workspace.selection == {(3, 1), (4, 1)}


def test_the_menu_key_is_for_the_line_that_keys_act_on(lane, qtbot):
    click(lane.stage, lane.x(8.0), Y)
    with qtbot.waitSignal(lane.stage.menu_wanted) as caught:
        menu(lane.stage, 3, QContextMenuEvent.Reason.Keyboard)
    assert caught.args[0] == Line((5, 1), 8.0)


# What it shows


def test_old_suggestions_grow_faint_only_after_a_while(lane, qtbot):
    before = lane.stage.grab().toImage()
    lane.workspace.show(pending=True)
    assert lane.stage.grab().toImage() == before
    qtbot.waitUntil(lambda: lane.stage.grab().toImage() != before, timeout=PATIENCE * 20)
    lane.workspace.show(pending=False)
    assert lane.stage.grab().toImage() == before


def test_hidden_it_leaves_no_timer_behind(lane):
    lane.workspace.show(pending=True)
    lane.stage.hide()
    assert not lane.stage._patience.waiting


def test_a_playhead_comes_moves_and_goes(lane):
    empty = lane.stage.grab().toImage()
    lane.stage.set_playhead(5.3)
    first = lane.stage.grab().toImage()
    lane.stage.set_playhead(5.7)
    second = lane.stage.grab().toImage()
    assert len({bytes(image.constBits()) for image in (empty, first, second)}) == 3
    lane.stage.set_playhead(None)
    assert lane.stage.grab().toImage() == empty


def test_hover_selection_and_drag_are_seen(lane):
    images = [lane.stage.grab().toImage()]
    move(lane.stage, lane.x(4.0), Y, button=Qt.MouseButton.NoButton)
    images.append(lane.stage.grab().toImage())
    click(lane.stage, lane.x(4.0), Y)
    images.append(lane.stage.grab().toImage())
    press(lane.stage, lane.x(4.0), Y)
    move(lane.stage, lane.x(4.3), Y)
    images.append(lane.stage.grab().toImage())
    assert len({bytes(image.constBits()) for image in images}) == 4


def test_without_a_take_nothing_can_be_done_and_nothing_fails(qtbot):
    workspace, span = StillWorkspace(State()), Span()
    stage = Stage(workspace, span)
    qtbot.addWidget(stage)
    stage.resize(400, 200)
    stage.show()
    drag(stage, 100, 200, Y)
    double_click(stage, 100, Y)
    menu(stage, 100)
    QTest.keyClick(stage, Qt.Key.Key_Right)
    assert workspace.edits == []
    assert not stage.grab().isNull()
