"""The calibration finds a habit that is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.tap_calibration import DAY, habit_from_clicks

CLICKS = 1.0 + 0.6 * np.arange(90)


@settings(max_examples=40, deadline=None)
@given(bias=st.floats(-0.08, 0.06), spread=st.sampled_from([0.015, 0.025, 0.04]), seed=st.integers(0, 999))
def test_bias_and_spread_are_found_in_spite_of_missed_and_doubled_taps(bias, spread, seed):
    """Within four standard errors: 1.25 s / sqrt(n) of a median, 1.17 s / sqrt(n) of a median deviation."""
    random = np.random.default_rng(seed)
    taps = CLICKS + bias + random.normal(0, spread, len(CLICKS))
    kept = taps[random.random(len(taps)) > 0.03]
    habit = habit_from_clicks(CLICKS, np.sort(np.append(kept, kept[20] + 0.15)))
    assert habit.bias == pytest.approx(bias, abs=4 * 1.25 * spread / np.sqrt(80))
    assert habit.spread == pytest.approx(spread, abs=4 * 1.17 * spread / np.sqrt(80) + 0.002)
    assert habit.sure >= DAY


def test_the_first_clicks_do_not_count():
    taps = CLICKS - 0.03
    taps[:4] += 0.1
    assert habit_from_clicks(CLICKS, taps).bias == pytest.approx(-0.03)


@pytest.mark.parametrize(
    ("taps", "words"),
    [
        (CLICKS[:15] - 0.02, "Only 11 taps went with the click"),
        (np.zeros(0), "Only 0 taps"),
        (np.sort(CLICKS + np.random.default_rng(1).uniform(-0.25, 0.25, len(CLICKS))), "scatter by"),
    ],
)
def test_what_says_nothing_is_refused(taps, words):
    with pytest.raises(InputError, match=words):
        habit_from_clicks(CLICKS, taps)
