"""What is heard, in a real window: by keys, by mouse, by pixels."""

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt

from core.arrangement import AS_PLAYED
from core.handover_settings import Settings
from core.plan_heard import plan_heard
from tests.app.shell import WAIT, afresh, bar_line, close_dialogs, opened, point, press, settled, with_a_stop

Key, Held = Qt.Key, Qt.KeyboardModifier
CTRL, SHIFT = Held.ControlModifier, Held.ShiftModifier
STOP = 3.0


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return with_a_stop(tmp_path_factory.mktemp("takes"), phrases=4, seconds=STOP)


@pytest.fixture
def window(qtbot, shared, path):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, path)
    afresh(qtbot, shared)
    yield shared
    close_dialogs()


def arrangement(window):
    return window.workspace.state.document.arrangement


def select(window, *bars):
    window.workspace.select([(bar, 1) for bar in bars])


def heard_grid(window):
    return window.cutting.page.space.state.grid


def test_the_stop_is_listed_with_what_it_saves(window):
    panel = window.cutting.panel.pauses
    assert panel.list.count() == 1
    (pause,) = window.cutting.hand.pauses
    assert pause.saves == pytest.approx(STOP, rel=0.25)
    assert f"saves {pause.saves:.1f} s" in panel.list.item(0).text()


def test_a_pause_is_tightened_by_button_and_slider_and_undone(qtbot, window):
    panel = window.cutting.panel.pauses
    row = panel.list.visualItemRect(panel.list.item(0)).center()
    qtbot.mouseClick(panel.list.viewport(), Qt.MouseButton.LeftButton, pos=row)
    (pause,) = window.cutting.hand.pauses
    assert window.span.start <= pause.start <= window.span.end
    qtbot.mouseClick(panel.some, Qt.MouseButton.LeftButton)
    (taken,) = arrangement(window).taken
    assert taken.duration == pytest.approx(pause.saves)
    assert panel.slider.value() == 100
    assert not window.workspace.state.pending
    qtbot.keyClick(panel.slider, Key.Key_PageDown)
    (taken,) = arrangement(window).taken
    assert taken.duration == pytest.approx(0.9 * pause.saves)
    qtbot.mouseClick(panel.back, Qt.MouseButton.LeftButton)
    assert arrangement(window) == AS_PLAYED
    press(qtbot, window, Key.Key_Z, CTRL)
    press(qtbot, window, Key.Key_Z, CTRL)
    assert arrangement(window).taken[0].duration == pytest.approx(pause.saves)


def test_all_pauses_by_one_key_leave_every_bar_and_shorten_what_is_heard(qtbot, window):
    bars = [line.bar for line in window.workspace.state.grid.bar_lines]
    press(qtbot, window, Key.Key_T, CTRL | SHIFT)
    press(qtbot, window, Key.Key_3, CTRL)
    page = window.cutting.page
    assert window.views.page is page
    assert [line.bar for line in heard_grid(window).bar_lines] == bars
    saved = sum(pause.saves for pause in window.cutting.hand.pauses)
    whole = window.workspace.state.take.duration
    assert page.span.duration == pytest.approx(whole - saved)
    (seam,) = page.layer.seams
    assert seam.taken == pytest.approx(saved)
    # Nothing is put right there, and that is said.
    qtbot.mouseDClick(page.timeline.stage, Qt.MouseButton.LeftButton, pos=page.timeline.stage.rect().center())
    assert "timeline" in window.strip.text.whole()
    assert window.workspace.state.at == 1


def test_selected_bars_are_left_out_hatched_and_brought_back(qtbot, window):
    plain = window.timeline.stage.grab().toImage()
    select(window, 5, 6)
    lines = {bar: bar_line(window, bar).time for bar in (5, 7)}
    press(qtbot, window, Key.Key_X)
    first, second = arrangement(window).order
    assert lines[5] - first.end == pytest.approx(lines[7] - second.start)
    select(window)
    hatched = window.timeline.stage.grab().toImage()
    x = round(window.span.x_of(lines[5] + 0.5))
    there = [hatched.pixel(x, y) != plain.pixel(x, y) for y in range(60, 200)]
    assert sum(there) > 20
    far = round(window.span.x_of(bar_line(window, 2).time + 0.5))
    assert all(hatched.pixel(far, y) == plain.pixel(far, y) for y in range(60, 200))
    planned = plan_heard(
        window.workspace.state.take,
        window.workspace.state.document,
        window.workspace.state.grid,
        Settings(name="x"),
    )
    assert len(planned.grid.bar_lines) == len(window.workspace.state.grid.bar_lines) - 2
    press(qtbot, window, Key.Key_X, Held.AltModifier)
    assert arrangement(window) == AS_PLAYED


def test_one_passage_is_kept_and_the_take_is_divided_and_put_in_another_order(qtbot, window):
    select(window, 3, 4, 5, 6)
    press(qtbot, window, Key.Key_X, SHIFT)
    assert len(arrangement(window).order) == 1
    select(window, 5)
    press(qtbot, window, Key.Key_V)
    before = arrangement(window).order
    assert len(before) == 2
    passages = window.cutting.panel.passages
    window.cutting.panel.setCurrentWidget(passages)
    assert passages.list.count() == 2
    passages.list.setCurrentRow(0)
    qtbot.mouseClick(passages.later, Qt.MouseButton.LeftButton)
    assert arrangement(window).order == before[::-1]
    assert passages.list.currentRow() == 1
    press(qtbot, window, Key.Key_3, CTRL)
    origin = window.cutting.page.space.heard.origin
    lines = heard_grid(window).bar_lines
    assert [origin[line.bar, 1][0] for line in lines][:4] == [5, 6, 3, 4]
    # Every bar is as long as in the recording, over the seam too.
    for line, following in pairwise(lines[:4]):
        bar = origin[line.bar, 1][0]
        played = bar_line(window, bar + 1).time - bar_line(window, bar).time
        assert following.time - line.time == pytest.approx(played, abs=1e-6)


def test_a_passage_dropped_elsewhere_in_the_list_is_heard_there(qtbot, window):
    point(qtbot, window, bar_line(window, 4).time)
    select(window, 4)
    press(qtbot, window, Key.Key_V)
    before = arrangement(window).order
    passages = window.cutting.panel.passages
    model = passages.list.model()
    # What a drop in the list does: its model moves the row.
    assert model.moveRow(passages.list.rootIndex(), 0, passages.list.rootIndex(), 2)
    qtbot.waitUntil(lambda: arrangement(window).order == before[::-1], timeout=WAIT)


def test_nothing_is_left_out_where_nothing_would_be_left(qtbot, window):
    window.workspace.select([(line.bar, 1) for line in window.workspace.state.grid.bar_lines])
    press(qtbot, window, Key.Key_X)
    assert settled(window)
    if arrangement(window) != AS_PLAYED:
        # What lies before the first bar line is left.
        assert arrangement(window).order[0].start == 0
