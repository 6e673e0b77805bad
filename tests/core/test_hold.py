"""A held bar gets beats."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.hold import with_hold
from core.metre import Metre, TimeSignature
from tests.core.free_grids import FOUR, grid_of, grids


def test_the_beat_that_was_held_is_divided():
    # Bar 3: beats of 0.5, 0.5, 4.5 and 0.5 s among bars at 120, so the third beat lasts nine.
    grid = grid_of(Metre.steady(FOUR), [0.5] * 8 + [0.5, 0.5, 4.5, 0.5] + [0.5] * 8, start=1.0)
    held = with_hold(grid, 3)
    assert held.metre.changes == ((1, FOUR), (3, TimeSignature(12, 4, (1,) * 12)), (4, FOUR))
    np.testing.assert_allclose(np.diff(held.beat_times), 0.5)
    np.testing.assert_array_equal(held.bar_times, grid.bar_times)


def test_a_compound_bar_gets_whole_beats():
    six = TimeSignature(6, 8)
    grid = grid_of(Metre.steady(six), [0.9] * 4 + [0.9, 3.6] + [0.9] * 4)
    assert with_hold(grid, 3).metre.at(3) == TimeSignature(15, 8, (3,) * 5)


def test_a_held_pickup_keeps_the_count_of_what_was_not_played():
    grid = grid_of(Metre.steady(FOUR), [2.0] + [0.5] * 8, bar=0, beat=4)
    held = with_hold(grid, 0)
    assert held.metre.at(0) == TimeSignature(7, 4, (1,) * 7)
    assert [(beat.bar, beat.beat) for beat in held.beats[:5]] == [(0, 4), (0, 5), (0, 6), (0, 7), (1, 1)]
    assert held.metre.at(1) == FOUR


def test_other_changes_of_metre_stay():
    three = TimeSignature(3, 4)
    grid = grid_of(Metre(((1, FOUR), (2, three))), [5.0] + [0.5] * 9)
    held = with_hold(grid, 1)
    assert [str(held.metre.at(bar)) for bar in (1, 2, 3)] == ["13/4", "3/4", "3/4"]


@given(grids(), st.integers(-3, 9))
@settings(max_examples=100, deadline=None)
def test_nothing_that_was_there_moves(grid, bar):
    try:
        held = with_hold(grid, bar)
    except InputError:
        held = grid
    times = {beat.time: beat.placed for beat in held.beats}
    assert all(times[beat.time] == beat.placed for beat in grid.beats)
    assert [(line.time, line.bar) for line in held.bar_lines] == [(line.time, line.bar) for line in grid.bar_lines]
    assert all(
        held.metre.at(other) == grid.metre.at(other) for other in range(grid.beats[0].bar, 14) if other != bar
    )


@pytest.mark.parametrize(
    ("bar", "words"), [(9, "no whole bar 9"), (5, "no whole bar 5"), (2, "Bar 2 is not held")]
)
def test_what_cannot_be_held_is_refused(bar, words):
    grid = grid_of(Metre.steady(FOUR), [0.5] * 16)
    with pytest.raises(InputError, match=words):
        with_hold(grid, bar)


def test_a_hold_too_long_for_a_time_signature_is_refused():
    grid = grid_of(Metre.steady(FOUR), [0.5] * 8 + [200.0] + [0.5] * 7)
    with pytest.raises(InputError, match="255 at most"):
        with_hold(grid, 3)


def test_a_single_bar_has_nothing_to_go_by():
    with pytest.raises(InputError, match="no bar beside it"):
        with_hold(grid_of(Metre.steady(FOUR), [0.5] * 4), 1)
