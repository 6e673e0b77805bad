"""The counted search between two fixed moments (pulses synthesised here)."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.between import Count, between, through
from core.costs import Costs
from core.pulse import BAR, BEAT


def four_four(bars: int, onsets: int) -> Count:
    """Bars of four beats; every onset is as good as any other."""
    units = 4 * bars + 1
    levels = np.array([BAR if unit % 4 == 0 else BEAT for unit in range(units)])
    return Count(np.arange(units, dtype=np.float64), levels, [np.zeros((onsets, 3))] * units)


def test_each_onset_of_an_even_pulse_gets_its_unit():
    time = np.arange(0, 33) * 0.5
    score, way = between(time, four_four(8, len(time)), 0.0, 16.0, float(np.log(0.5)), Costs())
    assert np.isfinite(score)
    assert way == [(unit, unit * 0.5) for unit in range(33)]


def test_without_onsets_only_the_ends_remain_in_order():
    _, way = between(np.zeros(0), four_four(8, 0), 1.0, 17.0, float(np.log(0.5)), Costs())
    assert way == [(0, 1.0), (32, 17.0)]


@settings(max_examples=40, deadline=None)
@given(
    gaps=st.lists(st.floats(0.05, 1.5), min_size=1, max_size=60),
    bars=st.integers(1, 6),
    end=st.floats(1.0, 30.0),
)
def test_the_ends_stay_and_units_and_times_go_up_together(gaps, bars, end):
    time = np.cumsum(gaps)
    _, way = between(time, four_four(bars, len(time)), 0.0, end, float(np.log(0.5)), Costs())
    units, times = zip(*way, strict=True)
    assert (units[0], times[0]) == (0, 0.0)
    assert (units[-1], times[-1]) == (4 * bars, end)
    assert np.all(np.diff(units) > 0)
    assert np.all(np.diff(times) > 0)
    assert set(times[1:-1]) <= set(time.tolist())


def test_the_best_way_goes_through_its_own_onsets_and_an_onset_too_many_is_worth_less():
    time = np.sort(np.append(np.arange(0, 17) * 0.5, 3.8))
    worth = through(time, four_four(4, len(time)), 0.0, 8.0, float(np.log(0.5)), 8, Costs())
    assert time[worth.argmax()] == 4.0
    assert worth.max() == 0.0
    assert worth[time == 3.8] < -0.5
