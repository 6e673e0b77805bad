"""What taps were meant for, by the bars on screen (made here; common practice, no source)."""

from fractions import Fraction

import numpy as np
import pytest

from core.errors import InputError
from core.grid import Grid
from core.metre import Metre, TimeSignature
from core.tap_meaning import guessed, meant_by
from tests.core.free_grids import grid_of

FOUR = Metre.steady(TimeSignature(4, 4))


class TestMeaning:
    """Bars of 2 s in four from 1 s on."""

    grid = grid_of(FOUR, [0.5] * 160, start=1.0)

    @pytest.mark.parametrize(("step", "every"), [(0.5, 0), (2.0, 1), (4.0, 2), (2.3, 1), (3.6, 2), (0.6, 0)])
    def test_taps_are_told_by_how_far_they_are_apart(self, step, every):
        assert guessed(np.arange(5.0, 40.0, step).tolist(), self.grid) == every

    def test_a_missed_tap_does_not_matter(self):
        assert guessed([5.0, 7.0, 11.0, 13.0, 15.0, 17.0], self.grid) == 1

    def test_the_first_tap_means_the_nearest_line(self):
        line = self.grid.bar_lines[7]
        taps = meant_by([line.time + 0.1, line.time + 2.1], self.grid)
        assert (taps.every, taps.bar, taps.beat) == (1, line.bar, 1)
        beat = self.grid.beats[30]
        taps = meant_by([beat.time - 0.04, beat.time + 0.46], self.grid, bias=-0.04)
        assert (taps.every, taps.bar, taps.beat) == (0, beat.bar, beat.beat)

    def test_before_the_first_bar_line_bars_are_counted_back(self):
        first = self.grid.bar_lines[0]
        assert meant_by([first.time - 0.9, first.time + 1], self.grid, every=1).bar == first.bar

    def test_what_is_asked_for_holds(self):
        assert meant_by([5.0, 5.5, 6.0], self.grid, every=2).every == 2

    def test_without_taps_or_bars_there_is_no_meaning(self):
        with pytest.raises(InputError, match="no taps"):
            meant_by([], self.grid)
        with pytest.raises(InputError, match="no bars"):
            meant_by([1.0], Grid(Metre.steady(TimeSignature(4, 4), Fraction(0)), ()))
