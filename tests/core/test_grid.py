"""A grid counts its bars and beats one after the other."""

import pickle

import pytest

from core.errors import PinError
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature

THREE = Metre.steady(TimeSignature(3, 4))


def test_bar_lines_and_places():
    grid = Grid(THREE, (Beat(0.5, 0, 3), Beat(1.0, 1, 1), Beat(1.5, 1, 2), Beat(2.0, 1, 3), Beat(2.5, 2, 1)))
    assert grid.bar_times.tolist() == [1.0, 2.5]
    assert [grid.quarter_of(beat) for beat in grid.beats] == [-1, 0, 1, 2, 3]


@pytest.mark.parametrize(
    ("after", "message"), [(Beat(1.0, 1, 2), "does not come after"), (Beat(2.0, 2, 1), "cannot follow")]
)
def test_refused(after, message):
    with pytest.raises(PinError, match=message):
        Grid(THREE, (Beat(1.0, 1, 1), after))


def test_a_grid_comes_back_from_another_process_as_it_was():
    beats = tuple(Beat(0.5 * i, 1 + i // 3, 1 + i % 3, confidence=0.7, alternatives=(0.1,)) for i in range(7))
    for grid in (Grid(Metre.steady(TimeSignature(3, 4)), beats), Grid(Metre.steady(TimeSignature(4, 4)), ())):
        assert pickle.loads(pickle.dumps(grid)) == grid
