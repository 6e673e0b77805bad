"""Pauses made shorter by their ends, in a real window by a real mouse; what each gesture does is our own."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.cutting.pause_marks import HIGH, TOP
from core.arrangement import AS_PLAYED
from core.cutting import EDGE
from tests.app.shell import WAIT, afresh, close_dialogs, opened, settled, with_a_stop
from tests.app.shell import press as key
from tests.app.timeline.hand import drag, move, press, release

Key, Held = Qt.Key, Qt.KeyboardModifier
STOP = 3.0
Y = TOP + HIGH // 2


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return with_a_stop(tmp_path_factory.mktemp("takes"), phrases=2, seconds=STOP)


@pytest.fixture
def window(qtbot, shared, path):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, path)
    afresh(qtbot, shared)
    yield shared
    close_dialogs()


@pytest.fixture
def pause(window):
    (pause,) = window.cutting.hand.pauses
    window.span.show(pause.start - 2, pause.end + 2)
    return pause


def x(window, time):
    return round(window.span.x_of(time))


def taken(window):
    return window.workspace.state.document.arrangement.taken


def seconds(stretches):
    return sum(stretch.duration for stretch in stretches)


def test_the_end_of_a_pause_is_dragged_and_that_is_one_step(qtbot, window, pause):
    stage, start, end = window.timeline.stage, x(window, pause.end), x(window, pause.end - 1.0)
    away = (start - end) * window.span.seconds_per_pixel
    drag(stage, start, end, Y, Held.AltModifier)
    assert settled(window)
    assert seconds(taken(window)) == pytest.approx(away, abs=2 * window.span.seconds_per_pixel)
    assert all(pause.start + EDGE <= one.start < one.end <= pause.end - EDGE + 1e-9 for one in taken(window))
    assert window.workspace.state.at == 1
    # It says what it does where the list of pauses does, too.
    assert f"{away:.1f} s shorter" in window.cutting.panel.pauses.list.item(0).text()
    # From its new end it goes further, or back to as it was played.
    drag(stage, end, end - 40, Y, Held.AltModifier)
    assert seconds(taken(window)) > away + 30 * window.span.seconds_per_pixel
    drag(stage, end - 40, start + 60, Y)
    assert window.workspace.state.document.arrangement == AS_PLAYED
    for length in (3, 2, 1):
        assert window.workspace.state.at == length
        key(qtbot, window, Key.Key_Z, Held.ControlModifier)
    assert window.workspace.state.document.arrangement == AS_PLAYED


def test_near_what_its_neighbours_suggest_it_snaps_there(window, pause):
    drag(window.timeline.stage, x(window, pause.end), x(window, pause.start + pause.suggested) + 5, Y)
    assert seconds(taken(window)) == pytest.approx(pause.saves)
    assert window.cutting.pauses.marks[0].words.endswith("left, as suggested")


def test_while_it_is_dragged_the_lane_shows_what_would_not_be_heard(window, pause):
    stage, start = window.timeline.stage, x(window, pause.end)
    press(stage, start, Y)
    move(stage, start - 50, Y, Held.AltModifier)
    (shown,) = window.cutting.layer.stretches
    assert shown.duration == pytest.approx(50 * window.span.seconds_per_pixel, rel=0.05)
    assert taken(window) == ()
    before = stage.grab().toImage()
    move(stage, start - 110, Y, Held.AltModifier)
    assert stage.grab().toImage() != before
    (shown,) = window.cutting.layer.stretches
    assert shown.duration == pytest.approx(110 * window.span.seconds_per_pixel, rel=0.05)
    QTest.keyClick(stage, Key.Key_Escape)
    assert window.cutting.layer.stretches == ()
    move(stage, start - 150, Y)
    release(stage, start - 150, Y)
    assert taken(window) == ()
    assert window.workspace.state.at == 0


def test_the_cursor_shows_what_can_be_dragged_and_bar_lines_keep_theirs(window, pause):
    stage, at = window.timeline.stage, x(window, pause.end)
    none = Qt.MouseButton.NoButton
    move(stage, at, Y, button=none)
    assert stage.cursor().shape() == Qt.CursorShape.SplitHCursor
    move(stage, at - 40, Y, button=none)
    assert stage.cursor().shape() == Qt.CursorShape.ArrowCursor
    move(stage, at, Y + 60, button=none)
    assert stage.cursor().shape() != Qt.CursorShape.SplitHCursor


def test_a_click_changes_nothing_and_nothing_goes_below_what_stays_of_any_pause(window, pause):
    stage, at = window.timeline.stage, x(window, pause.end)
    press(stage, at, Y)
    release(stage, at, Y)
    assert window.workspace.state.at == 0
    drag(stage, at, x(window, pause.start) - 100, Y)
    assert seconds(taken(window)) == pytest.approx(pause.end - pause.start - 2 * EDGE)


def test_another_bar_count_lets_it_go(qtbot, window, pause):
    """The pauses follow from the bars: what is in the hand may be gone."""
    stage, at = window.timeline.stage, x(window, pause.end)
    press(stage, at, Y)
    move(stage, at - 60, Y)
    window.cutting.pauses.show_pauses((), AS_PLAYED)
    assert not window.cutting.pauses.busy
    release(stage, at - 60, Y)
    assert taken(window) == ()
    window.cutting.show_state(window.workspace.state)
    qtbot.waitUntil(window.cutting.pauses.isVisible, timeout=WAIT)
