"""Tapping along in the whole window, by real keys and clicks and a controller of the test's own."""

import numpy as np
import pytest
from mido import Message
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.tapping.preview import HIGH, TOP
from app.tapping.tapping import BEFORE, HOW, NO_TAPS
from core.tap_bias import Habit
from tests.app.shell import WAIT, afresh, close_dialogs, opened, settled, window_of
from tests.app.takes import play_midi
from tests.app.tapping.fake_player import FakePlayer
from tests.app.tapping.fake_ports import FakePorts

Key, NONE = Qt.Key, Qt.KeyboardModifier.NoModifier
NOTE = Message("note_on", note=60, velocity=3)


@pytest.fixture(scope="module")
def take(tmp_path_factory):
    return play_midi(tmp_path_factory.mktemp("takes") / "four phrases.mid", phrases=4)


@pytest.fixture(scope="module")
def shared(qapp, take, tmp_path_factory):
    player, ports = FakePlayer(), FakePorts("Pads:Pads 1")
    with window_of(tmp_path_factory.mktemp("home")) as window:
        tapping = window.tapping
        tapping.play_with(player, player)
        tapping.midi.ports = ports
        tapping.player, tapping.ports = player, ports
        yield window


@pytest.fixture
def tapping(qtbot, shared, take):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, take.path)
    tapping = shared.tapping
    tapping.close_bar()
    afresh(qtbot, shared)
    tapping.player.started.clear()
    tapping.bar.kind.setCurrentIndex(tapping.bar.kind.findData(1))
    shared.settings.habit = None
    yield tapping
    tapping.close_bar()
    close_dialogs()


def document(window):
    return window.workspace.state.document


def key(window, which):
    """A key as the system sends it: shortcuts first, then to whoever has the focus."""
    QTest.keyClick(window.windowHandle(), which)


def lines_of(take, step=1, first=2, last=14):
    return take.bars[first - 1 : last : step]


def tap(window, times, *, seed=1, bias=-0.03, spread=0.015, strike=None):
    """Tap with Space, or otherwise, at moments of the take."""
    random = np.random.default_rng(seed)
    for time in times:
        window.tapping.player.heard = float(time + bias + random.normal(0, spread))
        (strike or (lambda: key(window, Key.Key_Space)))()


def a_pass(qtbot, window, times, **how):
    """One whole pass, and its lines."""
    tapping = window.tapping
    if not tapping.bar.isVisible():
        tapping.tap_along()
    before = len(document(window).taps)
    (tapping.bar.again.click if tapping.waiting.passes else lambda: key(window, Key.Key_Space))()
    assert tapping.running
    tap(window, times, **how)
    key(window, Key.Key_Escape)
    assert not tapping.running
    assert len(document(window).taps) == before + 1
    read(qtbot, tapping)


def read(qtbot, tapping):
    qtbot.waitUntil(lambda: bool(tapping.waiting.lines), timeout=WAIT)


class TestAPass:
    def test_space_begins_taps_and_escape_ends_and_the_lines_are_shown(self, qtbot, shared, tapping, take):
        wanted = lines_of(take)
        a_pass(qtbot, shared, wanted)
        assert tapping.player.started == [(shared.span.start, None)]
        lines = tapping.waiting.lines
        assert [line.bar for line in lines] == list(range(2, 15))
        assert np.abs([line.time for line in lines] - wanted).max() < 0.002
        assert tapping.layer.preview.lines == lines
        assert "13 bar lines from 13 taps" in tapping.bar.words.whole()
        assert "early" in tapping.bar.more.whole()
        # Nothing is placed yet.
        assert document(shared).pins == ()

    def test_space_is_a_tap_wherever_the_keys_were(self, qtbot, shared, tapping, take):
        tapping.tap_along()
        key(shared, Key.Key_Space)
        assert tapping.player.lent
        shared.side_panel.done.setFocus()
        at = QPoint(300, 200)
        qtbot.mouseClick(shared.timeline.stage, Qt.MouseButton.LeftButton, pos=at)
        tap(shared, lines_of(take))
        assert len(tapping.layer._taps) == 13
        assert not tapping.player.started[1:]
        key(shared, Key.Key_Escape)
        assert not tapping.player.lent

    def test_a_held_key_is_one_tap(self, shared, tapping):
        tapping.tap_along()
        key(shared, Key.Key_Space)
        for i, repeat in enumerate((False, True, True, True)):
            tapping.player.heard = 5.0 + 0.1 * i
            QApplication.sendEvent(
                tapping.bar.pad, QKeyEvent(QEvent.Type.KeyPress, Key.Key_Space, NONE, " ", repeat)
            )
        assert tapping.layer._taps == (5.0,)

    def test_the_pad_and_a_controller_tap_too(self, qtbot, shared, tapping, take):
        tapping.tap_along()
        QTest.mousePress(tapping.bar.pad, Qt.MouseButton.LeftButton, NONE, QPoint(30, 30))
        assert tapping.running

        def strike():
            count = len(tapping.layer._taps)
            if count % 2:
                tapping.ports.play(NOTE)
            else:
                QTest.mousePress(tapping.bar.pad, Qt.MouseButton.LeftButton, NONE, QPoint(30, 30))
            qtbot.waitUntil(lambda: len(tapping.layer._taps) == count + 1)

        tap(shared, lines_of(take), strike=strike)
        tapping.player.stop()
        read(qtbot, tapping)
        assert [line.bar for line in tapping.waiting.lines] == list(range(2, 15))

    def test_every_second_bar_is_asked_and_the_bars_between_are_found(self, qtbot, shared, tapping, take):
        tapping.bar.kind.setCurrentIndex(tapping.bar.kind.findData(2))
        a_pass(qtbot, shared, lines_of(take, 2, last=15))
        lines = tapping.waiting.lines
        assert [line.tapped for line in lines] == [True, False] * 6 + [True]
        assert np.abs([line.time for line in lines] - lines_of(take, last=14)).max() < 0.05

    def test_what_is_tapped_is_guessed_where_that_is_asked(self, qtbot, shared, tapping, take):
        tapping.bar.kind.setCurrentIndex(tapping.bar.kind.findData(None))
        a_pass(qtbot, shared, take.beats[4:44])
        assert document(shared).taps[0].every == 0
        assert tapping.bar.kind.currentData() == 0
        assert {line.beat for line in tapping.waiting.lines} == set(
            range(1, document(shared).metre.at(3).beats + 1)
        )

    def test_taps_that_look_like_something_else_are_asked_about_and_can_be_said_again(
        self, qtbot, shared, tapping, take
    ):
        a_pass(qtbot, shared, lines_of(take, 2, last=15))
        assert "look like every second bar" in tapping.bar.more.whole()
        tapping.bar.kind.setCurrentIndex(tapping.bar.kind.findData(2))
        tapping.bar.kind.activated.emit(tapping.bar.kind.currentIndex())
        read(qtbot, tapping)
        assert [taps.every for taps in document(shared).taps] == [2]
        assert "look like" not in tapping.bar.more.whole()

    def test_the_bar_of_the_first_tap_can_be_said(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        tapping.bar.first.setFocus()
        tapping.bar.first.selectAll()
        QTest.keyClicks(tapping.bar.first, "5")
        QTest.keyClick(tapping.bar.first, Key.Key_Return)
        read(qtbot, tapping)
        assert [line.bar for line in tapping.waiting.lines] == list(range(5, 18))

    def test_over_selected_bars_it_plays_these(self, shared, tapping):
        times = {line.bar: line.time for line in shared.workspace.state.grid.bar_lines}
        shared.workspace.select([(bar, 1) for bar in range(4, 9)])
        tapping.tap_along()
        key(shared, Key.Key_Space)
        ((start, end),) = tapping.player.started
        assert (start, end) == (pytest.approx(max(times[4] - BEFORE, 0)), pytest.approx(times[8] + BEFORE))

    def test_with_the_bar_open_a_pass_begins_however_playing_does(self, shared, tapping):
        tapping.tap_along()
        tapping.player.play_from(0.0)
        assert tapping.running
        tapping.player.stop()
        assert not tapping.running
        assert shared.strip.messages[-1].text == NO_TAPS

    def test_every_round_of_a_loop_is_a_pass(self, qtbot, shared, tapping, take):
        tapping.tap_along()
        key(shared, Key.Key_Space)
        for seed in (1, 2):
            tap(shared, lines_of(take), seed=seed)
        key(shared, Key.Key_Escape)
        read(qtbot, tapping)
        assert len(document(shared).taps) == 2
        assert "2 passes together" in tapping.bar.words.whole()

    def test_another_take_ends_it(self, shared, tapping):
        tapping.tap_along()
        key(shared, Key.Key_Space)
        shared.workspace.close_take()
        assert not tapping.running
        assert (tapping.player.playing, tapping.player.lent) == (False, False)
        assert not tapping.bar.isVisible()

    def test_without_a_sound_it_says_so_beside_what_to_do(self, shared, tapping, monkeypatch):
        monkeypatch.setattr(tapping.player, "silent", "No sound card was found.")
        tapping.tap_along()
        assert tapping.bar.more.whole() == f"No sound card was found. {HOW}"


class TestPlacing:
    def test_whole_in_one_step_that_can_be_undone(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        lines = tapping.waiting.lines
        qtbot.mouseClick(tapping.bar.place, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: settled(shared), timeout=WAIT)
        assert document(shared).pins == tuple(line.pin for line in lines)
        assert tapping.layer.preview.lines == ()
        assert tapping.bar.pad.text() == "Start"
        shared.workspace.undo()
        assert document(shared).pins == ()
        read(qtbot, tapping)
        assert tapping.waiting.lines == lines

    def test_in_part_by_bars_and_the_rest_waits(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        shared.workspace.select([(bar, 1) for bar in range(4, 7)])
        assert tapping.bar.place.text() == "Place 3"
        tapping.bar.place.click()
        assert [pin.bar for pin in document(shared).pins] == [4, 5, 6]
        read(qtbot, tapping)
        assert [line.bar for line in tapping.waiting.lines] == [2, 3, *range(7, 15)]

    def test_a_flag_that_is_clicked_is_left_out_and_with_shift_all_up_to_it(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))

        def click(bar, held=NONE):
            stage = shared.timeline.stage
            flag = next(f for f in tapping.layer.preview.flags(shared.span, stage.font()) if f.place == (bar, 1))
            qtbot.mouseClick(stage, Qt.MouseButton.LeftButton, held, QPoint(flag.x + 3, TOP + HIGH // 2))

        click(3)
        assert tapping.bar.place.text() == "Place 12"
        assert shared.workspace.selection == frozenset()
        click(6, Qt.KeyboardModifier.ShiftModifier)
        assert {line.bar for line in tapping.waiting.chosen} == {2, *range(7, 15)}
        click(4)
        tapping.place_tapped()
        assert [pin.bar for pin in document(shared).pins] == [2, 4, *range(7, 15)]
        # With all bars the taps are dealt with, what was left out included.
        assert not any(taps.open for taps in document(shared).taps)

    def test_dropped_nothing_is_placed(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        qtbot.mouseClick(tapping.bar.drop, Qt.MouseButton.LeftButton)
        assert (document(shared).pins, document(shared).taps) == ((), ())
        assert tapping.layer.preview.lines == ()

    def test_passes_combine_and_where_they_disagree_the_bar_is_doubtful(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take), seed=1)
        other = np.array(lines_of(take))
        other[5] += 0.5
        a_pass(qtbot, shared, other, seed=2)
        doubtful = [line.bar for line in tapping.waiting.lines if line.doubtful]
        assert doubtful == [7]
        assert tapping.bar.doubtful.isVisible()
        tapping.bar.doubtful.click()
        tapping.place_tapped()
        assert 7 not in [pin.bar for pin in document(shared).pins]
        assert len(document(shared).pins) == 12

    def test_what_was_placed_by_hand_stays(self, qtbot, shared, tapping, take):
        shared.workspace.select([(4, 1)])
        key(shared, Key.Key_K)
        (pin,) = document(shared).pins
        shared.workspace.select([])
        a_pass(qtbot, shared, lines_of(take))
        tapping.place_tapped()
        assert pin in document(shared).pins

    def test_waiting_lines_are_kept_when_the_bar_is_closed(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        lines = tapping.waiting.lines
        tapping.bar.dismiss.click()
        assert (tapping.layer.preview.lines, tapping.bar.isVisible()) == ((), False)
        tapping.tap_along()
        assert tapping.layer.preview.lines == lines

    def test_tapping_again_while_it_plays_is_a_whole_pass(self, qtbot, shared, tapping, take):
        a_pass(qtbot, shared, lines_of(take))
        tapping.player.play_from(0.0)
        assert not tapping.running
        tapping.bar.again.click()
        assert tapping.running
        tap(shared, lines_of(take), seed=2)
        key(shared, Key.Key_Escape)
        assert len(document(shared).taps) == 2

    def test_a_worker_that_ends_while_it_reads_is_asked_again(self, qtbot, shared, tapping, take):
        tapping.tap_along()
        key(shared, Key.Key_Space)
        tap(shared, lines_of(take))
        key(shared, Key.Key_Escape)
        assert "Reading" in tapping.bar.words.whole()
        shared.workspace._analysis.restart()
        read(qtbot, tapping)


class TestControllers:
    def test_they_are_listened_to_while_the_bar_is_open(self, shared, tapping):
        assert tapping.ports.open_ones == []
        tapping.tap_along()
        assert "Listening to Pads." in tapping.bar.midi.toolTip()
        tapping.bar.dismiss.click()
        assert tapping.ports.open_ones == []

    def test_a_pad_is_chosen_by_pressing_it_and_remembered(self, qtbot, shared, tapping):
        tapping.tap_along()
        tapping.bar.learn.trigger()
        tapping.ports.play(NOTE)
        qtbot.waitUntil(lambda: shared.settings.tapping("trigger") == "note 60")
        assert "note 60" in tapping.bar.midi.toolTip()
        tapping.bar.any_note.trigger()
        assert shared.settings.tapping("trigger") == ""


def test_a_measured_habit_says_what_the_first_tap_meant(qtbot, shared, tapping, take):
    """Nearer to bar 2 by the clock, but meant for bar 3 by somebody who taps that early."""
    shared.settings.habit = Habit(-0.4, 0.02, 0.005)
    length = take.bars[2] - take.bars[1]
    late = take.bars[2] - 0.6 * length
    tapping.tap_along()
    assert "400 ms early" in tapping.bar.words.whole()
    key(shared, Key.Key_Space)
    tap(shared, [late, *(late + length * k for k in range(1, 5))], bias=0, spread=0)
    key(shared, Key.Key_Escape)
    assert document(shared).taps[0].bar == 3
