"""The silent clock: take time runs as it would with sound."""

import pytest

from app.sound.clicks import Clicks, CountIn
from app.sound.course import FADE
from app.sound.silent import SilentClock
from core.take import AudioTake


@pytest.fixture
def clock(qapp, monkeypatch):
    clock = SilentClock()
    clock.time = 100.0
    monkeypatch.setattr("app.sound.silent.now", lambda: clock.time)
    clock.told = []
    clock.playing_changed.connect(clock.told.append)
    clock.load(AudioTake(path="take.wav", duration=10.0, rate=48000, channels=1, frames=480000))
    yield clock
    clock.close()


def at(clock, seconds):
    """Take time so many seconds after the take came in."""
    return clock.take_time(100.0 + FADE + seconds)


def test_it_runs_through_the_take(clock):
    clock.play(2.0, speed=0.5)
    assert clock.playing
    assert at(clock, 0.0) == pytest.approx(2.0)
    assert at(clock, 4.0) == pytest.approx(4.0)
    assert at(clock, 16.5) is None
    assert clock.take_time(99.9) is None


def test_a_tap_that_comes_after_the_stop_is_still_known(clock):
    clock.play(2.0)
    clock.time = 103.0
    clock.stop()
    assert clock.told == [True, False]
    assert at(clock, 1.0) == pytest.approx(3.0)
    assert clock.take_time(103.5) is None


def test_a_count_in_runs_up_to_the_start(clock):
    clock.play(0.5, count_in=CountIn(Clicks.of([-1.5], [0]), 2.0))
    assert clock.take_time(100.0) == pytest.approx(-1.5)
    assert clock.take_time(102.0) == pytest.approx(0.5)


def test_a_loop_counts_its_rounds(clock):
    clock.play(2.0, 3.0, loop=True)
    assert clock.rounds(100.0 + FADE + 2.5) == 2
    assert at(clock, 2.5) == pytest.approx(2.5)
    assert clock.rounds(99.0) is None


def test_it_ends_by_itself(clock, qtbot):
    clock.play(9.9)
    clock.time = 100.2
    qtbot.waitUntil(lambda: not clock.playing, timeout=2000)
    assert clock.told == [True, False]


def test_what_is_not_in_the_take_is_not_played(clock):
    clock.play(10.0)
    assert not clock.playing
    clock.play_stretches([(-1.0, 1.0), (9.5, 20.0)])
    assert clock.take_time(100.0 + FADE) == pytest.approx(0.0, abs=1e-4)


def test_going_on_at_another_speed_keeps_the_place(clock):
    clock.play(2.0, 6.0, loop=True)
    clock.time = 101.0 + FADE
    clock.change(loop=True, speed=0.5)
    assert clock.take_time(101.0 + 2 * FADE) == pytest.approx(3.0, abs=1e-3)
    assert clock.take_time(101.0 + 2 * FADE + 7.0) == pytest.approx(2.5, abs=1e-3)
    assert clock.told == [True]


def test_clicks_alone_need_no_take(clock):
    clock.load(None)
    clock.play_clicks(Clicks.of([0.0, 0.5, 60.0], [0, 1, 1]))
    assert at(clock, 60.2) == pytest.approx(60.2)
    assert at(clock, 60.6) is None
    clock.play_clicks(Clicks.none())
    assert not clock.playing
