"""The stack of lanes: one width, one span, and the ways to move about in it."""

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.span import Span
from app.state import State
from app.timeline.timeline import Timeline
from core.take import AudioTake, MidiTake, Notes
from tests.app.timeline.hand import click
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid


@pytest.fixture
def timeline(qtbot):
    workspace, span = StillWorkspace(State()), Span()
    timeline = Timeline(workspace, span)
    timeline.workspace, timeline.span = workspace, span
    qtbot.addWidget(timeline)
    timeline.resize(1000, 600)
    timeline.show()
    qtbot.waitExposed(timeline)
    state = state_of(steady_grid(101, bar=2.0, start=0.0), duration=200.0)
    workspace.show(take=state.take, onsets=state.onsets, document=state.document, grid=state.grid)
    qtbot.waitUntil(lambda: span.width == 1000)
    return timeline


def seen(timeline):
    return pytest.approx((timeline.span.start, timeline.span.end))


def test_without_a_take_it_shows_nothing(timeline):
    assert timeline.stage.isVisible()
    timeline.workspace.show(take=None, onsets=None, document=None, grid=None)
    assert not timeline.stage.isVisible()
    assert not timeline.overview.isVisible()


def test_a_take_is_shown_whole_and_another_one_too(timeline):
    assert seen(timeline) == (0.0, 200.0)
    timeline.span.show(10.0, 20.0)
    other = AudioTake(path="other.wav", duration=90.0, rate=48000, channels=1, frames=1)
    timeline.workspace.show(take=other, grid=None, document=None, onsets=None)
    assert seen(timeline) == (0.0, 90.0)


def test_the_picture_of_a_take_comes_changes_and_goes(timeline):
    def look():
        return [lane.grab().toImage() for lane in (timeline.stage, timeline.overview)]

    bare = look()
    one = np.array([60])
    notes = Notes(start=np.array([50.0]), end=np.array([90.0]), pitch=one, velocity=one, channel=one * 0)
    timeline.workspace.picture.emit(MidiTake(path="take.mid", duration=200.0, notes=notes, messages=()))
    assert all(new != old for new, old in zip(look(), bare, strict=True))
    timeline.workspace.picture.emit(None)
    assert look() == bare


def test_all_lanes_are_as_wide_as_the_span_says(timeline, qtbot):
    timeline.resize(800, 600)
    qtbot.waitUntil(lambda: timeline.span.width == 800)
    lanes = (timeline.overview, timeline.ruler, timeline.sections, timeline.stage, timeline.tempo)
    assert {lane.width() for lane in lanes} == {800}
    assert {lane.mapTo(timeline, lane.rect().topLeft()).x() for lane in lanes} == {0}


def test_the_stage_has_most_of_the_height(timeline):
    assert timeline.stage.height() > 2.5 * timeline.tempo.height()


def test_zooming_to_bars(timeline):
    timeline.zoom_to(11, 4)
    assert seen(timeline) == (20.0 - 0.48, 28.0 + 0.48)
    timeline.zoom_to(99, 8)
    assert timeline.span.start < 196.0
    assert timeline.span.end == pytest.approx(200.0)
    timeline.zoom_to(101)
    assert timeline.span.end == pytest.approx(200.0)
    timeline.zoom_to(1234)
    timeline.fit()
    assert seen(timeline) == (0.0, 200.0)


def test_zooming_to_the_selection(timeline):
    timeline.zoom_selection()
    assert seen(timeline) == (0.0, 200.0)
    timeline.workspace.select({(11, 1), (13, 2)})
    timeline.zoom_selection()
    assert seen(timeline) == (20.0 - 0.36, 26.0 + 0.36)


def test_going_to_a_bar_selects_and_shows_it(timeline):
    timeline.span.show(0.0, 10.0)
    timeline.go_to(50)
    assert timeline.workspace.selection == {(50, 1)}
    assert timeline.span.start < 98.0 < timeline.span.end
    assert timeline.span.end - timeline.span.start == pytest.approx(10.0)


def test_zoom_from_the_keyboard_keeps_the_selected_line_or_the_middle_still(timeline):
    timeline.span.show(40.0, 60.0)
    timeline.zoom_in()
    assert (timeline.span.start + timeline.span.end) / 2 == pytest.approx(50.0)
    timeline.zoom_out()
    assert seen(timeline) == (40.0, 60.0)
    timeline.go_to(23)
    x = timeline.span.x_of(44.0)
    timeline.zoom_in()
    assert timeline.span.x_of(44.0) == pytest.approx(x)


def test_a_bar_chosen_in_the_tempo_lane_is_gone_to(timeline, qtbot):
    with qtbot.waitSignal(timeline.went_to) as caught:
        click(timeline.tempo, 503, 40)
    assert caught.args == [51]
    assert timeline.workspace.selection == {(51, 1)}


def test_the_playhead_is_followed_until_the_musician_scrolls_away(timeline):
    timeline.span.show(0.0, 10.0)
    timeline.set_playhead(5.0)
    assert timeline.span.start == 0.0
    timeline.set_playhead(9.1)
    assert seen(timeline) == (8.1, 18.1)
    timeline.span.show(100.0, 110.0)
    timeline.set_playhead(9.2)
    assert timeline.span.start == 100.0
    timeline.set_playhead(None)
    timeline.set_playhead(50.0)
    assert timeline.span.start < 50.0 < timeline.span.end
    timeline.set_follow(False)
    timeline.set_playhead(59.9)
    timeline.set_playhead(80.0)
    assert timeline.span.end < 80.0


def test_what_the_lanes_ask_for_is_passed_on(timeline, qtbot):
    with qtbot.waitSignal(timeline.pointed):
        timeline.span.show(0.0, 20.0)
        click(timeline.stage, 62, 150)
    for signal, source in (
        (timeline.rename_wanted, timeline.sections.rename_wanted),
        (timeline.went_to, timeline.sections.went_to),
    ):
        with qtbot.waitSignal(signal) as caught:
            source.emit(7)
        assert caught.args == [7]


def test_a_click_in_the_ruler_goes_to_that_moment_and_its_bar(timeline):
    timeline.span.show(40.0, 60.0)
    with_signal = []
    timeline.pointed.connect(with_signal.append)
    click(timeline.ruler, 850, 5)
    assert seen(timeline) == (47.0, 67.0)
    assert with_signal == [pytest.approx(57.0)]
    assert timeline.workspace.selection == {(29, 1)}


def test_tab_reaches_the_tempi_and_keys_go_from_bar_to_bar_there(timeline):
    timeline.activateWindow()
    timeline.stage.setFocus()
    QTest.keyClick(timeline.stage, Qt.Key.Key_Tab)
    assert timeline.tempo.hasFocus()
    for key, bar in ((Qt.Key.Key_End, 101), (Qt.Key.Key_Left, 100), (Qt.Key.Key_Home, 1), (Qt.Key.Key_Right, 2)):
        QTest.keyClick(timeline.tempo, key)
        assert timeline.workspace.selection == {(bar, 1)}
        assert timeline.span.start <= 2.0 * (bar - 1) <= timeline.span.end
