"""Clicks: on the lines of the grid, between them, and before the take comes in (common practice, no source)."""

import numpy as np
import pytest

from app.sound.clicks import BAR, BARS_ONLY, BEAT, PART, Clicks, clicks_of, count_in
from core.errors import InputError
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from tests.app.timeline.still_workspace import steady_grid


def test_every_beat_has_a_click_and_bar_lines_another():
    clicks = clicks_of(steady_grid(3, bar=2.0, start=1.0))
    assert clicks.time.tolist() == [1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0]
    assert clicks.kind.tolist() == [BAR, BEAT, BEAT, BEAT, BAR, BEAT, BEAT, BEAT, BAR]


def test_bar_lines_alone():
    assert clicks_of(steady_grid(3, bar=2.0, start=1.0), BARS_ONLY).time.tolist() == [1.0, 3.0, 5.0]


def test_parts_of_beats_lie_evenly_in_beats_of_any_length():
    beats = (Beat(1.0, 1, 1), Beat(1.6, 1, 2), Beat(2.8, 2, 1))
    clicks = clicks_of(Grid(Metre.steady(TimeSignature(2, 4)), beats), 3)
    assert clicks.time.tolist() == pytest.approx([1.0, 1.2, 1.4, 1.6, 2.0, 2.4, 2.8])
    assert clicks.kind.tolist() == [BAR, PART, PART, BEAT, PART, PART, BAR]


@pytest.mark.parametrize("grid", [None, Grid(Metre.steady(TimeSignature(4, 4)), ())])
def test_without_bars_there_is_no_click_and_nothing_to_count(grid):
    assert len(clicks_of(grid, 2)) == 0
    assert count_in(grid, 3.0, 2) is None


def test_a_bar_is_counted_before_a_bar_line_as_long_as_the_bar_that_comes():
    beats = (Beat(1.0, 1, 1), Beat(2.0, 1, 2), Beat(3.0, 2, 1), Beat(3.4, 2, 2), Beat(4.0, 3, 1))
    counted = count_in(Grid(Metre.steady(TimeSignature(2, 4)), beats), 3.0, 2)
    assert counted.length == pytest.approx(2.0)
    assert counted.clicks.time.tolist() == pytest.approx([1.0, 1.4, 2.0, 2.4])
    assert counted.clicks.kind.tolist() == [BAR, BEAT, BAR, BEAT]


def test_inside_a_bar_the_count_runs_on_into_it():
    counted = count_in(steady_grid(4, bar=2.0, start=1.0), 4.2, 1)
    assert counted.clicks.time.tolist() == pytest.approx([2.5, 3.0, 3.5, 4.0])
    assert counted.clicks.kind.tolist() == [BEAT, BAR, BEAT, BEAT]


def test_before_the_first_bar_line_and_after_the_last_the_nearest_bar_counts():
    grid = steady_grid(3, bar=2.0, start=1.0)
    assert count_in(grid, 0.0, 1).clicks.time.tolist() == pytest.approx([-2.0, -1.5, -1.0, -0.5])
    assert count_in(grid, 9.0, 1).clicks.time.tolist() == pytest.approx([7.0, 7.5, 8.0, 8.5])


def test_nothing_is_counted_unless_asked():
    assert count_in(steady_grid(3), 1.0, 0) is None


def test_a_stretch_of_clicks():
    clicks = clicks_of(steady_grid(3, bar=2.0, start=1.0)).between(1.5, 2.5)
    assert clicks.time.tolist() == [1.5, 2.0]


def test_clicks_come_in_order():
    with pytest.raises(InputError):
        Clicks.of(np.array([2.0, 1.0]), [BAR, BAR])
