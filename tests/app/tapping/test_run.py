"""Taps of a pass while it runs."""

import pytest

from app.tapping.run import MOMENT, Run


def test_taps_are_gathered_in_order():
    run = Run(60.0)
    assert [run.add(time) for time in (1.0, 2.0, 3.5)] == [True] * 3
    assert run.passes == [(1.0, 2.0, 3.5)]


def test_what_lies_outside_the_take_or_was_heard_nowhere_means_nothing():
    run = Run(60.0)
    assert [run.add(time) for time in (None, -0.4, 60.5)] == [False] * 3
    assert run.passes == []


def test_a_key_and_a_pad_struck_at_once_are_one_tap():
    run = Run(60.0)
    run.add(5.0)
    assert not run.add(4.99)
    assert run.taps == (5.0,)


def test_every_round_of_a_loop_is_a_pass():
    run = Run(60.0)
    for time in (10.0, 12.0, 14.0, 10.1, 12.1, 14.1, 10.2):
        run.add(time)
    assert run.taps == (10.2,)
    assert run.passes == [(10.0, 12.0, 14.0), (10.1, 12.1, 14.1)]


def test_the_speed_is_that_at_which_the_take_went_on():
    run = Run(60.0)
    assert run.speed == 1.0
    for time in (10.0, 12.0, 14.0):
        run.add(time, time - 0.5 * MOMENT)
    assert run.speed == pytest.approx(0.5)
    # A tap at the very start of a loop knows nothing of it.
    run.add(8.0, 14.0)
    assert run.speed == pytest.approx(0.5)
