"""Moments of events come from their time stamps."""

import pytest

from app.tapping.moments import EventMoments


class Clock:
    def __init__(self):
        self.time = 1000.0

    def __call__(self):
        return self.time


def handled(moments, clock, stamp, at):
    clock.time = at
    return moments.moment(stamp)


def test_a_busy_window_makes_no_tap_late():
    clock = Clock()
    moments = EventMoments(clock)
    assert handled(moments, clock, 5_000, 1000.001) == pytest.approx(1000.001)
    # Handled 300 ms late, for the window was painting.
    assert handled(moments, clock, 6_000, 1001.301) == pytest.approx(1001.001, abs=0.001)
    assert handled(moments, clock, 7_000, 1002.001) == pytest.approx(1002.001, abs=0.001)


def test_the_least_delay_seen_counts():
    clock = Clock()
    moments = EventMoments(clock)
    handled(moments, clock, 5_000, 1000.050)
    assert handled(moments, clock, 6_000, 1001.001) == pytest.approx(1001.001)
    assert handled(moments, clock, 7_000, 1002.040) == pytest.approx(1002.001, abs=0.001)


def test_clocks_that_drift_are_followed():
    clock = Clock()
    moments = EventMoments(clock)
    for minute in range(120):
        true = 1000.0 + 60 * minute
        # A clock that loses 50 millionths.
        stamp = round(1000 * (60 * minute * (1 - 5e-5) + 5))
        assert handled(moments, clock, stamp, true) == pytest.approx(true, abs=0.008)


def test_without_a_stamp_or_on_another_clock_the_arrival_counts():
    clock = Clock()
    moments = EventMoments(clock)
    handled(moments, clock, 5_000, 1000.0)
    assert handled(moments, clock, 0, 1003.0) == 1003.0
    # Time stamps of 32 bits start again after 49.7 days.
    assert handled(moments, clock, 12, 1004.0) == pytest.approx(1004.0)
    assert handled(moments, clock, 1_012, 1005.2) == pytest.approx(1005.0, abs=0.001)
