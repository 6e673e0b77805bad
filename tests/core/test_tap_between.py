"""Bar lines between those tapped."""

from fractions import Fraction

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from core.tap_between import search
from core.way import Mark

FOUR = TimeSignature(4, 4)
METRE = Metre.steady(FOUR)
NOTHING = np.zeros(0), {FOUR: np.zeros((0, 3))}


def found(*args):
    return [line for searched in search(*args) for line in searched.lines]


def mark(bar, time, metre=METRE):
    return Mark(Fraction(metre.quarter_of(bar)), time)


def test_neighbours_have_nothing_between_them():
    assert found([mark(1, 0.0), mark(2, 2.0), mark(3, 4.0)], METRE, *NOTHING) == []


def test_in_silence_a_steady_tempo_divides_evenly():
    lines = found([mark(1, 0.0), mark(4, 6.0), mark(5, 8.0)], METRE, *NOTHING)
    assert [line.bar for line in lines] == [2, 3]
    assert [line.time for line in lines] == pytest.approx([2.0, 4.0])


def test_a_line_goes_to_the_onset_the_evidence_speaks_for():
    time = np.arange(0.0, 8.01, 0.5) + np.where(np.arange(17) == 4, 0.06, 0.0)
    evidence = np.full((17, 3), [0.0, 0.0, -4.0])
    evidence[4] = 0.0, 0.0, 3.0
    (line, *_) = found([mark(1, 0.0), mark(3, 4.0), mark(5, 8.0)], METRE, time, {FOUR: evidence})
    assert (line.bar, line.time) == (2, pytest.approx(2.06))
    assert line.confidence > 0.9


def test_beats_of_both_metres_are_counted_over_a_change():
    """Four quarters and three more at an even tempo: the line lies after four sevenths."""
    metre = Metre(((1, FOUR), (2, TimeSignature(3, 4))))
    (line,) = found([mark(1, 0.0, metre), mark(3, 7.0, metre)], metre, np.zeros(0), {})
    assert (line.bar, line.time) == (2, pytest.approx(4.0))


def test_the_way_through_the_line_is_the_best_and_others_cost():
    time = np.arange(0.0, 4.01, 0.5)
    evidence = np.full((9, 3), [0.0, 0.0, -4.0])
    evidence[4] = 0.0, 0.0, 3.0
    (searched,) = search([mark(1, 0.0), mark(3, 4.0)], METRE, time, {FOUR: evidence})
    worth = searched.through(2, 9)
    assert worth[4] == 0.0
    assert np.all(np.delete(worth, 4) < -1.0)
    assert np.all(np.isinf(worth[[0, 8]]))
