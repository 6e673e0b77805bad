"""Looking up in the grid on screen."""

import pytest
from hypothesis import given

from core.document import COMMON_TIME, Document
from core.errors import InputError
from core.grid import Grid
from core.shown import anchor, index_of, need_pulse, shown
from tests.core.free_grids import grid_of, grids


@given(grids())
def test_every_beat_is_found_and_no_other(grid):
    assert [index_of(grid, beat.bar, beat.beat) for beat in grid.beats] == list(range(len(grid.beats)))
    last = grid.beats[-1]
    assert index_of(grid, last.bar, 2) is None
    assert index_of(grid, last.bar + 1) is None


def test_what_is_not_there_is_said():
    with pytest.raises(InputError, match="not known yet"):
        shown(Grid(COMMON_TIME, ()), 3)


def test_the_next_line_that_stays():
    grid = grid_of(COMMON_TIME, [0.5] * 8, placed=frozenset([2]))
    assert (anchor(grid, 3, -1), anchor(grid, 3, 1)) == (grid.beats[2], grid.beats[4])
    assert (anchor(grid, 0, -1), anchor(grid, 8, 1)) == (None, None)


def test_bars_with_a_pulse_are_needed():
    document = Document(free=(5,))
    need_pulse(document, 1, 4)
    need_pulse(document, 6)
    for first, last in ((5, 5), (1, None)):
        with pytest.raises(InputError, match="Bar 5 has no pulse"):
            need_pulse(document, first, last)
