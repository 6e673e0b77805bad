"""The bias and the spread of a pass are found from the onsets it was meant for."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.tap_bias import Habit, habit_of
from core.tap_snap import Targets


def heard(lines, *, others=3):
    """Onsets: the lines, which the evidence speaks for, and others between them, which it speaks against."""
    random = np.random.default_rng(1)
    between = np.concatenate(
        [lines[:-1] + random.uniform(0.1, 0.9, len(lines) - 1) * np.diff(lines) for _ in range(others)]
    )
    time = np.concatenate([lines, between])
    order = np.argsort(time)
    return time[order], np.where(order < len(lines), 3.0, -3.0)


@settings(max_examples=30, deadline=None)
@given(bias=st.floats(-0.1, 0.06), seed=st.integers(0, 1000), spread=st.sampled_from([0.025, 0.04]))
def test_bias_is_found_within_four_standard_errors(bias, seed, spread):
    """The standard error of a median is 1.25 sigma / sqrt(n) (any text on statistics)."""
    lines = np.arange(1.0, 201.0, 2.0)
    taps = lines + bias + np.random.default_rng(seed).normal(0, spread, len(lines))
    time, gain = heard(lines)
    habit = habit_of(taps, Targets.near(taps, time, [gain] * len(taps)), Habit())
    assert habit.bias == pytest.approx(bias, abs=0.002 + 4 * 1.25 * spread / 10)
    assert habit.spread == pytest.approx(spread, rel=0.5)


def test_where_nothing_was_heard_what_was_known_holds():
    nothing = Targets.near(np.array([1.0, 2.0]), np.zeros(0), [np.zeros(0)] * 2)
    known = Habit(-0.044, 0.021, 0.008)
    habit = habit_of(np.array([1.0, 2.0]), nothing, known)
    assert (habit.bias, habit.spread) == (pytest.approx(-0.044), 0.021)
