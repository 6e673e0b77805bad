"""Taps become bar lines to be placed; what was placed before stays where it is."""

from __future__ import annotations

import csv
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.read_take import read_take
from core.tap_bias import Habit
from core.taps import Pass, read_taps

EXAMPLES = Path(__file__).parents[2] / "examples"
FOUR = TimeSignature(4, 4)
LOW_TIDE = Metre(((1, FOUR), (72, TimeSignature(3, 4)), (144, FOUR)), Fraction(1))
METRE = Metre.steady(TimeSignature(6, 8), Fraction(1, 2))


def true_times(name, *, beats=False):
    """The places that the example was composed at."""
    with (EXAMPLES / f"{name}.{'beats' if beats else 'bars'}.csv").open(encoding="utf-8", newline="") as file:
        return [(int(row["bar"]), int(row["beat"]), float(row["time_s"])) for row in csv.DictReader(file)]


BARS = np.array([time for bar, _, time in true_times("night-ferry") if bar > 0])


@pytest.fixture(scope="module")
def onsets():
    return find_onsets(read_take(EXAMPLES / "night-ferry.mid"))


def tapped(lines, *, bias=-0.04, spread=0.025, seed=3):
    return lines + bias + np.random.default_rng(seed).normal(0, spread, len(lines))


@pytest.mark.parametrize(("every", "right"), [(1, 1.0), (2, 0.97)])
def test_ten_minutes_of_taps_give_the_bar_lines(every, right):
    bars = np.array([time for bar, _, time in true_times("low-tide") if bar > 0])
    heard = find_onsets(read_take(EXAMPLES / "low-tide.mid"))
    read = read_taps([Pass(tapped(bars[::every]), every)], heard, LOW_TIDE)
    times = np.array([line.time for line in read.lines])
    assert np.mean([np.min(np.abs(times - bar)) < 0.01 for bar in bars]) >= right
    assert read.habits[0].bias == pytest.approx(-0.04, abs=0.005)
    assert [line.tapped for line in read.lines][:4] == ([True] * 4 if every == 1 else [True, False, True, False])


def test_tapped_beats_give_beats_and_bar_lines(onsets):
    beats = [row for row in true_times("night-ferry", beats=True) if row[0] > 0]
    read = read_taps([Pass(tapped(np.array([row[2] for row in beats])), "beat")], onsets, METRE)
    assert [(line.bar, line.beat) for line in read.lines] == [row[:2] for row in beats]


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    placed=st.lists(st.integers(0, len(BARS) - 1), max_size=4, unique=True),
    off=st.floats(-0.08, 0.08),
    seed=st.integers(0, 99),
)
def test_placed_lines_stay_and_nothing_is_given_for_them(onsets, placed, off, seed):
    pins = [Pin(float(BARS[i]) + off, i + 1) for i in sorted(placed)]
    read = read_taps([Pass(tapped(BARS, seed=seed))], onsets, METRE, pins=pins)
    known = {(line.bar, line.beat) for line in read.lines}
    assert not known & {(pin.bar, pin.beat) for pin in pins}
    times = sorted([(line.bar, line.time) for line in read.lines] + [(pin.bar, pin.time) for pin in pins])
    assert all(b[1] > a[1] for a, b in pairwise(times))


def test_passes_combine_and_where_they_disagree_the_bar_is_doubtful(onsets):
    one, other = tapped(BARS, seed=1), tapped(BARS, seed=2)
    other[6] += 0.4
    read = read_taps([Pass(one), Pass(other)], onsets, METRE)
    assert [line.bar for line in read.lines if line.doubtful] == [7]


def test_half_as_fast_a_habit_is_half_as_long_in_the_take(onsets):
    known = Habit(bias=-0.05, spread=0.02, sure=0.005)
    read = read_taps([Pass(BARS[:2] - 0.025, speed=0.5)], onsets, METRE, habit=known)
    assert read.habits[0].bias == pytest.approx(-0.05, abs=0.02)
    assert read.lines[0].time == pytest.approx(BARS[0], abs=0.01)


def test_a_known_habit_holds_for_few_taps(onsets):
    known = Habit(bias=-0.05, spread=0.02, sure=0.005)
    read = read_taps([Pass(BARS[:2] - 0.05)], onsets, METRE, habit=known)
    assert read.habits[0].bias == pytest.approx(-0.05, abs=0.01)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Pass(np.zeros(0)), "no taps"),
        (lambda: Pass(np.array([2.0, 1.0])), "taps"),
        (lambda: Pass(np.array([1.0]), 0), "every 0 bars"),
        (lambda: Pass(np.array([1.0]), 1, 1, 2), "beat 1"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(make, words):
    with pytest.raises(InputError, match=words):
        make()
