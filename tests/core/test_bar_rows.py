"""Rows of bars, on grids and onsets whose deviations are known, and against numpy and scipy."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation, norm

from core.bar_rows import NO_LENGTH, REACH, BarRows, attack_shares, bar_rows, low_onsets
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from tests.core.free_grids import FOUR, grid_of, grids

STEADY = Metre.steady(FOUR)


def heard(times) -> Onsets:
    """Onsets of which only the times matter."""
    time = np.sort(np.asarray(times, dtype=float))
    same = np.zeros(len(time))
    return Onsets(
        source="midi", duration=1e4, time=time, strength=same, count=same, low=same, high=same, length=same,
        chroma=np.zeros((len(time), 12)), pedal_lift=same, pedal_down=same,
    )  # fmt: skip


def lines_of(rows: BarRows, row: int) -> slice:
    return slice(rows.first_line[row], rows.first_line[row + 1])


def onsets_of(rows: BarRows, row: int) -> slice:
    return slice(rows.first_onset[row], rows.first_onset[row + 1])


def test_a_steady_bar_has_its_beats_at_quarters_and_its_onsets_where_they_are():
    grid = grid_of(STEADY, [0.5] * 8, start=1.0)
    rows = bar_rows(grid, heard([1.0, 1.25, 2.9, 3.5]))
    assert rows.bar.tolist() == [1, 2, 3]
    assert rows.begin.tolist() == [1.0, 3.0, 5.0]
    assert rows.end.tolist() == [3.0, 5.0, 7.0]
    assert rows.line_phase[lines_of(rows, 0)] == pytest.approx([0, 0.25, 0.5, 0.75, 1])
    assert rows.score_phase[lines_of(rows, 1)] == pytest.approx([0, 0.25, 0.5, 0.75, 1])
    assert rows.onset_phase[onsets_of(rows, 0)] == pytest.approx([0, 0.125, 0.95])
    assert rows.onset[onsets_of(rows, 1)].tolist() == [3]


def test_the_last_bar_line_opens_a_row_that_nothing_closes():
    rows = bar_rows(grid_of(STEADY, [0.5] * 4), heard([2.0, 2.6]))
    assert rows.line[lines_of(rows, 1)].tolist() == [4]
    assert rows.onset[onsets_of(rows, 1)].tolist() == [0, 1]


def test_the_last_row_is_as_long_as_the_bar_before_in_its_own_metre():
    metre = Metre(((1, FOUR), (2, TimeSignature(3, 4))))
    rows = bar_rows(grid_of(metre, [0.5] * 4), heard([0.0]))
    assert rows.end[-1] - rows.begin[-1] == pytest.approx(1.5)


def test_a_pickup_stands_at_the_end_of_its_row():
    grid = grid_of(STEADY, [0.5] * 5, start=0.2, bar=0, beat=4)
    rows = bar_rows(grid, heard([0.2]))
    assert rows.bar.tolist() == [0, 1, 2]
    assert rows.begin[0] == pytest.approx(0.7 - 2.0)
    assert rows.line_phase[lines_of(rows, 0)] == pytest.approx([0.75, 1.0])
    assert rows.onset_phase[onsets_of(rows, 0)] == pytest.approx([0.75])


def test_a_lone_bar_line_and_no_bar_at_all():
    rows = bar_rows(Grid(STEADY, (Beat(3.0, 1, 1),)), heard([]))
    assert (rows.begin.tolist(), rows.end.tolist()) == ([3.0], [3.0 + NO_LENGTH])
    none = bar_rows(Grid(STEADY, ()), heard([1.0]))
    assert (len(none), len(none.line), len(none.onset), none.row_of(1)) == (0, 0, 0, None)


def test_rows_are_found_by_bar_number():
    rows = bar_rows(grid_of(STEADY, [0.5] * 8, bar=-1), heard([]))
    assert [rows.row_of(bar) for bar in (-2, -1, 0, 1, 2)] == [None, 0, 1, 2, None]


def test_margins_show_the_music_around_a_bar():
    grid = grid_of(STEADY, [0.5] * 12)
    rows = bar_rows(grid, heard([1.7, 1.9, 2.0, 4.1, 4.3]), margin=0.1)
    assert rows.onset_phase[onsets_of(rows, 1)] == pytest.approx([-0.05, 0.0, 1.05])


def test_a_bar_may_keep_its_stretch_while_its_line_moves():
    still = grid_of(STEADY, [0.5] * 12)
    beats = [replace(beat, time=2.1) if (beat.bar, beat.beat) == (2, 1) else beat for beat in still.beats]
    rows = bar_rows(Grid(STEADY, tuple(beats)), heard([2.1, 2.5]), stretch={2: (2.0, 4.0)})
    assert rows.line_phase[lines_of(rows, 1)] == pytest.approx([0.05, 0.25, 0.5, 0.75, 1.0])
    assert rows.onset_phase[onsets_of(rows, 1)] == pytest.approx([0.05, 0.25])
    assert rows.line_phase[lines_of(rows, 0)][-1] == 1.0


@pytest.mark.parametrize("shift", [-0.03, 0.0, 0.012])
def test_onsets_that_are_all_late_by_so_much_deviate_by_that(shift):
    grid = grid_of(STEADY, [0.5] * 16, start=1.0)
    rows = bar_rows(grid, heard(grid.beat_times + shift))
    assert rows.deviation == pytest.approx(shift, abs=1e-9)
    assert rows.spread[:-1] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan(rows.spread[-1])  # one beat has no spread
    assert not rows.silent.any()


def test_the_median_is_not_misled_by_one_beat_played_late():
    grid = grid_of(STEADY, [0.5] * 4)
    rows = bar_rows(grid, heard([0.01, 0.52, 1.01, 1.6]))
    assert rows.deviation[0] == pytest.approx(0.015)
    assert rows.spread[0] == pytest.approx(0.005)


def test_beats_without_an_onset_near_them_are_counted():
    grid = grid_of(STEADY, [0.4] * 8)
    reach = REACH * 0.4
    rows = bar_rows(grid, heard([0.0, 0.4 + reach - 0.001, 0.8 + reach + 0.001, 1.6]))
    assert rows.silent.tolist() == [2, 3, 1]
    assert np.isnan(bar_rows(grid, heard([])).deviation).all()


def test_a_bar_line_put_between_beats_shows_in_the_spread():
    metre, beats = STEADY, np.arange(0, 30, 0.5)
    right = bar_rows(grid_of(metre, [0.5] * 40), heard(beats))
    wrong = bar_rows(grid_of(metre, [0.5] * 15 + [0.58] + [0.5] * 24), heard(beats))
    assert np.nanmax(right.spread) == pytest.approx(0.0, abs=1e-9)
    assert wrong.spread[3] > 0.01


def test_gaussian_jitter_comes_back_as_its_own_spread():
    # Motor noise of 6.8 ms (KTH rule system: Friberg, Bresin & Sundberg 2006); the median absolute deviation of
    # a normal distribution is its 75 % quantile of the deviation from the middle (textbook, here from scipy).
    metre = Metre.steady(TimeSignature(240, 4))
    grid = grid_of(metre, [0.5] * 480)
    jitter = np.random.default_rng(3).normal(0.0, 0.0068, len(grid.beats))
    rows = bar_rows(grid, heard(grid.beat_times + jitter))
    assert rows.spread[:2] == pytest.approx(0.0068 * norm.ppf(0.75), rel=0.15)
    assert rows.deviation[:2] == pytest.approx(0.0, abs=0.0015)


@given(grids(), st.integers(0, 2**32 - 1))
def test_figures_are_those_of_numpy_and_scipy_bar_by_bar(grid, seed):
    random = np.random.default_rng(seed)
    onsets = heard(np.unique(grid.beat_times + random.normal(0, 0.05, len(grid.beats))))
    rows = bar_rows(grid, onsets)
    for row in range(1, len(rows) - 1):
        phases = rows.score_phase[lines_of(rows, row)]
        even = rows.begin[row] + phases * (rows.end[row] - rows.begin[row])
        off = [onsets.time[np.argmin(np.abs(onsets.time - time))] - time for time in even[:-1]]
        near = np.array([x for x, length in zip(off, np.diff(even), strict=True) if abs(x) <= REACH * length])
        assert rows.silent[row] == len(off) - len(near)
        assert rows.deviation[row] == pytest.approx(np.median(near) if len(near) else np.nan, nan_ok=True)
        spread = median_abs_deviation(near) if len(near) > 1 else np.nan
        assert rows.spread[row] == pytest.approx(spread, nan_ok=True, abs=1e-12)


@given(grids())
def test_every_line_stands_where_its_time_says(grid):
    rows = bar_rows(grid, heard([]))
    row = np.repeat(np.arange(len(rows)), np.diff(rows.first_line))
    times = rows.begin[row] + rows.line_phase * (rows.end - rows.begin)[row]
    assert times == pytest.approx(grid.beat_times[rows.line], abs=1e-6)
    assert set(rows.line.tolist()) == set(range(len(grid.beats)))
    assert not rows.line_phase.flags.writeable


def test_onsets_are_weighed_against_the_others_of_their_take():
    onsets = heard(range(101))
    onsets = replace(onsets, strength=np.arange(-100.0, 1.0), low=np.linspace(30, 90, 101))
    shares = attack_shares(onsets)
    assert shares[[0, 10, 50, 90, 100]] == pytest.approx([0, 0, 0.5, 1, 1])
    assert low_onsets(onsets).sum() == 35  # below a third of the way from the 5th to the 95th percentile
    assert low_onsets(onsets)[0]


@pytest.mark.parametrize("times", [[], [1.0], [1.0, 2.0]])
def test_onsets_that_are_all_alike_are_strong_and_not_low(times):
    assert (attack_shares(heard(times)) == 1).all()
    assert not low_onsets(heard(times)).any()
