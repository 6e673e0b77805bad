"""From the taps of a document to lines, and what taps were meant for."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from core.document import Document, TapPass
from core.edits import AcceptTaps, KeepTaps, Place
from core.errors import InputError
from core.find_onsets import find_onsets
from core.grid import Grid, Pin
from core.metre import Metre, TimeSignature
from core.read_take import read_take
from core.tap_reading import guessed, meant_by, read_document
from tests.core.free_grids import grid_of
from tests.core.test_taps import BARS, METRE, tapped

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def onsets():
    return find_onsets(read_take(EXAMPLES / "night-ferry.mid"))


def kept(*times, document=None, **meaning):
    edit = KeepTaps(TapPass(tuple(np.asarray(times).tolist()), **meaning))
    return edit.apply(document or Document(METRE))


def test_open_taps_are_read_and_lines_that_stand_there_are_left_out(onsets):
    document = kept(*tapped(BARS))
    lines = read_document(document, onsets).lines
    assert [line.bar for line in lines] == list(range(1, len(BARS) + 1))
    part = AcceptTaps(tuple(line.pin for line in lines[:5]), done=False).apply(document)
    assert [line.bar for line in read_document(part, onsets).lines] == list(range(6, len(BARS) + 1))


def test_a_pass_over_what_was_tapped_before_is_read_with_it(onsets):
    first = kept(*tapped(BARS, seed=1))
    placed = AcceptTaps(tuple(line.pin for line in read_document(first, onsets).lines)).apply(first)
    other = tapped(BARS, seed=2)
    other[6] += 0.4
    read = read_document(kept(*other, document=placed), onsets)
    assert len(read.habits) == 2
    assert [line.bar for line in read.lines if line.doubtful] in ([7], [])
    # A line that was placed by hand is not gone over.
    by_hand = Place(Pin(float(BARS[6]) - 0.1, 7)).apply(placed)
    assert 7 not in [line.bar for line in read_document(kept(*other, document=by_hand), onsets).lines]


def test_beats_that_cannot_be_placed_are_left_out(onsets):
    beats = np.interp(np.arange(0, len(BARS) - 0.5, 0.5), np.arange(len(BARS)), BARS)
    document = kept(*tapped(beats), every=0)
    assert (4, 2) in {(line.bar, line.beat) for line in read_document(document, onsets).lines}
    held = replace(document, holds=(4,))
    assert (4, 2) not in {(line.bar, line.beat) for line in read_document(held, onsets).lines}


def test_without_open_taps_there_is_nothing_to_read(onsets):
    with pytest.raises(InputError, match="No taps"):
        read_document(Document(METRE), onsets)


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
