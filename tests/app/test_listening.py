"""Playing in the window, by real keys and clicks, against a player that only takes down what it is asked for."""

import pytest
from PySide6.QtCore import QPoint, Qt

from app.bar_stack import BarStack
from app.meter import LOWEST, Meter
from app.moment import Moment
from app.settings import Settings
from app.sound.choices import SoundChoices
from app.sound.clicks import BEAT
from app.sound.silent import SilentClock
from app.stack.playhead import playhead_rect
from app.stretches import doubtful_stretches
from core.edits import NameSection
from tests.app.shell import afresh, bar_line, opened, press, window_of
from tests.app.takes import play_midi
from tests.app.timeline.still_workspace import state_of, steady_grid

WAIT = 10_000


class Notebook(SilentClock):
    """A silent clock that takes down what it is asked for."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.clicks, self.mix, self.asked = None, None, []

    def load(self, take, passages=None):
        self.loaded = take, passages
        super().load(take, passages)

    def set_clicks(self, clicks):
        self.clicks = clicks

    def set_mix(self, mix):
        self.mix = mix

    def look(self):
        self.devices_changed.emit()

    def _play(self, stretches, **more):
        self.asked.append((stretches, more))
        super()._play(stretches, **more)

    @property
    def last(self):
        (stretch, *_), more = self.asked[-1]
        return stretch, more


@pytest.fixture(scope="module")
def window(qapp, tmp_path_factory):
    folder = tmp_path_factory.mktemp("listening")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.main_window.Player", Notebook)
        with window_of(folder) as window:
            window.path = play_midi(folder / "take.mid", phrases=4).path
            yield window


@pytest.fixture
def take(qtbot, window):
    if window.workspace.state.take is None:
        opened(qtbot, window, window.path)
    window.player.stop()
    afresh(qtbot, window)
    window.listening._choose(SoundChoices())
    window.player.asked.clear()
    return window


def choose(window, text):
    """Choose something in the menu of the strip."""
    next(action for action in window.transport.more.menu().actions() if action.text() == text).trigger()


def bars(window, first, last):
    return bar_line(window, first).time, bar_line(window, last).time


def test_space_plays_from_the_selected_line_and_stops(qtbot, take):
    take.workspace.select([(3, 1)])
    press(qtbot, take, Qt.Key.Key_Space)
    assert take.player.playing
    stretch, more = take.player.last
    assert stretch == (bar_line(take, 3).time, take.workspace.state.take.duration)
    assert (more["loop"], more["speed"]) == (False, 1.0)
    qtbot.waitUntil(lambda: take.transport.place.text().startswith("Bar 3."), timeout=WAIT)
    press(qtbot, take, Qt.Key.Key_Space)
    assert not take.player.playing
    assert take.transport.place.text() == ""


def test_going_on_begins_where_it_stopped(qtbot, take):
    take.workspace.select([(3, 1)])
    press(qtbot, take, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: take.listening._stopped > bar_line(take, 3).time + 0.05, timeout=WAIT)
    press(qtbot, take, Qt.Key.Key_Space)
    press(qtbot, take, Qt.Key.Key_Space, Qt.KeyboardModifier.ShiftModifier)
    (start, _), _ = take.player.last
    assert bar_line(take, 3).time + 0.05 < start < bar_line(take, 4).time


def test_a_click_in_the_ruler_says_where_space_begins_and_a_double_click_begins(qtbot, take):
    ruler = take.timeline.ruler
    x = round(take.span.x_of(bar_line(take, 4).time + 0.3))
    time = take.span.time_at(x)
    qtbot.mouseClick(ruler, Qt.MouseButton.LeftButton, pos=QPoint(x, 8))
    assert not take.player.playing
    press(qtbot, take, Qt.Key.Key_Space)
    assert take.player.last[0][0] == pytest.approx(time)
    take.player.stop()
    take.navigation.fit()
    qtbot.mouseDClick(ruler, Qt.MouseButton.LeftButton, pos=QPoint(x, 8))
    assert take.player.playing


def test_a_click_in_the_ruler_while_it_plays_goes_there(qtbot, take):
    press(qtbot, take, Qt.Key.Key_Space)
    x = round(take.span.x_of(bar_line(take, 5).time))
    time = take.span.time_at(x)
    qtbot.mouseClick(take.timeline.ruler, Qt.MouseButton.LeftButton, pos=QPoint(x, 8))
    assert take.player.last[0][0] == pytest.approx(time)


def test_bar_by_bar(qtbot, take):
    take.workspace.select([(2, 1)])
    press(qtbot, take, Qt.Key.Key_B)
    assert take.player.last[0] == bars(take, 2, 3)
    press(qtbot, take, Qt.Key.Key_Period)
    assert take.player.last[0] == bars(take, 3, 4)
    assert take.workspace.selection == {(3, 1)}
    press(qtbot, take, Qt.Key.Key_Comma)
    assert take.player.last[0] == bars(take, 2, 3)


def test_the_selection_and_its_loop(qtbot, take):
    take.workspace.select([(2, 1), (3, 1), (4, 1)])
    press(qtbot, take, Qt.Key.Key_B, Qt.KeyboardModifier.ShiftModifier)
    assert take.player.last[0] == bars(take, 2, 5)
    take.player.stop()
    press(qtbot, take, Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    assert take.actions_by_id["toggle_loop"].isChecked()
    press(qtbot, take, Qt.Key.Key_Space)
    stretch, more = take.player.last
    assert (stretch, more["loop"]) == (bars(take, 2, 5), True)


def test_a_section_is_heard_to_its_end(qtbot, take):
    take.workspace.do(NameSection(3, "Middle"))
    take.workspace.do(NameSection(6, "End"))
    qtbot.waitUntil(lambda: not take.workspace.state.pending, timeout=WAIT)
    take.workspace.select([(4, 1)])
    take.actions_by_id["hear_section"].trigger()
    assert take.player.last[0] == bars(take, 3, 6)


def test_each_doubtful_bar_is_heard_with_one_before_it():
    grid = steady_grid(10, bar=1.0, start=0.0, doubtful={(1, 1), (4, 1), (5, 1), (10, 1)})
    moment = Moment(state_of(grid, duration=9.7))
    assert doubtful_stretches(moment) == [(0.0, 1.0), (2.0, 5.0), (8.0, 9.7)]


def test_on_its_page_the_take_is_heard_as_it_is_arranged(qtbot, take):
    take.workspace.select([(3, 1), (4, 1)])
    take.actions_by_id["leave_out"].trigger()
    qtbot.waitUntil(lambda: not take.workspace.state.pending, timeout=WAIT)
    take.views.show_heard()
    space = take.cutting.page.space
    assert take.player.loaded == (space.heard.take, None)
    assert take.player.clicks.time.tolist() == space.state.grid.beat_times.tolist()
    take.actions_by_id["play_stop"].trigger()
    assert take.player.last[0] == (0.0, space.heard.take.duration)
    qtbot.waitUntil(lambda: take.cutting.page.timeline._playhead is not None, timeout=WAIT)
    take.views.show_timeline()
    assert not take.player.playing
    assert take.player.loaded == (take.workspace.state.take, None)


def test_the_click_follows_the_grid_while_it_is_edited(qtbot, take):
    lines = [line.time for line in take.workspace.state.grid.bar_lines]
    assert set(lines) <= set(take.player.clicks.time.tolist())
    take.workspace.select([(4, 1)])
    press(qtbot, take, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ShiftModifier)
    moved = bar_line(take, 4).time
    assert moved not in lines
    assert moved in take.player.clicks.time.tolist()


def test_choices_in_the_strip_are_obeyed(qtbot, take):
    strip = take.transport
    strip.take.setValue(-30)
    assert take.player.mix.take == -30.0
    strip.click.setValue(-20)
    assert take.player.mix.click == -20.0
    qtbot.mouseClick(strip.buttons["toggle_click"], Qt.MouseButton.LeftButton)
    assert not take.player.mix.clicking
    before = len(take.player.clicks)
    choose(take, "Click on halves of beats")
    assert len(take.player.clicks) == 2 * before - 1
    strip.speed.setCurrentIndex(strip.speed.findData(70))
    press(qtbot, take, Qt.Key.Key_Space)
    assert take.player.last[1]["speed"] == 0.7
    press(qtbot, take, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    assert take.player.last[1]["speed"] == 0.6
    assert strip.speed.currentData() == 60


def test_a_count_in_counts_the_bar_that_comes(qtbot, take):
    action = next(
        action for action in take.transport.more.menu().actions() if action.text() == "Count in two bars"
    )
    action.trigger()
    take.workspace.select([(3, 1)])
    press(qtbot, take, Qt.Key.Key_Space)
    counted = take.player.last[1]["count_in"]
    start, end = bars(take, 3, 4)
    assert counted.length == pytest.approx(2 * (end - start))


def test_space_is_lent_to_taps_and_taken_back(qtbot, take):
    take.listening.lend_space(True)
    press(qtbot, take, Qt.Key.Key_Space)
    assert not take.player.asked
    take.listening.lend_space(False)
    press(qtbot, take, Qt.Key.Key_Space)
    assert take.player.asked


def test_clicks_alone_for_a_calibration(take):
    take.listening.play_clicks([0.0, 0.5, 1.0])
    assert take.player._bare.kind.tolist().count(BEAT) == 2


def test_the_playhead_goes_through_timeline_and_bar_stack(qtbot, take):
    take.workspace.select([(2, 1)])
    press(qtbot, take, Qt.Key.Key_Space)
    take.views.show_bar_stack()
    qtbot.waitUntil(lambda: take.timeline._playhead is not None, timeout=WAIT)
    rows: BarStack = take.bar_stack
    qtbot.waitUntil(lambda: rows._playhead is not None, timeout=WAIT)
    start, end = bars(take, 2, 3)
    rect = playhead_rect(rows._stack, 0.5 * (start + end), 0.0)
    assert rect.center().y() == pytest.approx(rows.y_of(2), abs=1.5)
    assert rows.x_of(0.0) < rect.x() < rows.x_of(1.0)
    assert playhead_rect(rows._stack, -5.0, 0.0) is None
    take.player.stop()
    assert rows._playhead is None


def test_why_nothing_is_heard_is_shown_and_goes_again(take):
    take.player.silent_changed.emit("No sound card was found.")
    assert take.transport.device.whole() == "No sound card was found."
    assert not take.transport.sign.isHidden()
    take.player.silent_changed.emit("")
    assert take.transport.sign.isHidden()


def test_outputs_are_offered_in_the_preferences(qtbot, take, monkeypatch):
    monkeypatch.setattr(Notebook, "devices", ("Speakers", "Headphones"))
    take.sheets.show_preferences()
    dialog = take.sheets.current
    assert dialog.output.count() == 3
    dialog.output.setCurrentIndex(2)
    dialog.accept()
    assert take.settings.preferences.output == "Headphones"
    monkeypatch.setattr(Notebook, "devices", ())
    take.sheets.show_preferences()
    assert take.sheets.current.output.currentText() == "Headphones (not there now)"
    take.sheets.current.reject()


def test_loud_levels_are_not_kept_for_the_next_day(tmp_path):
    settings = Settings(tmp_path / "settings.ini")
    settings.sound = SoundChoices(take=0, click=3, parts=2, speed=50, loop=True)
    again = Settings(tmp_path / "settings.ini").sound.at_first()
    assert again == SoundChoices(parts=2)
    settings.sound = SoundChoices(take=-40, pitch=123456, counted=9)
    assert settings.sound.at_first() == SoundChoices(take=-40)


def test_the_meter_rises_at_once_and_falls_slowly(qtbot):
    meter = Meter()
    qtbot.addWidget(meter)
    meter.show_levels(1.0, 0.5)
    # 20 lg 1/2 = -6.02 dB.
    assert meter.levels == (0.0, pytest.approx(-6.02, abs=0.01))
    meter.show_levels(0.0, 0.0)
    assert -6.02 < meter.levels[0] < 0.0
    meter.clear()
    assert meter.levels == (LOWEST, LOWEST)
