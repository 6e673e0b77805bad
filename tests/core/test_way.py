"""Places in the score and the times of them."""

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from core.metre import Metre, TimeSignature
from core.way import Mark, Parts, first_bars, place_of, times_at

CHANGING = Metre(((1, TimeSignature(4, 4)), (4, TimeSignature(7, 8)), (9, TimeSignature(3, 4))))


@given(st.integers(-20, 40), st.fractions(0, 1, max_denominator=12).filter(lambda share: share < 1))
def test_a_place_is_the_inverse_of_a_quarter(bar, share):
    inside = share * CHANGING.at(bar).quarters
    assert place_of(CHANGING, CHANGING.quarter_of(bar) + inside) == (bar, inside)


steps = st.lists(
    st.tuples(st.fractions("1/8", 16, max_denominator=12), st.floats(0.05, 20)), min_size=2, max_size=9
)


@given(steps)
def test_marks_keep_their_times_to_the_last_digit(pairs):
    position, time, marks = Fraction(0), 0.0, []
    for quarters, seconds in pairs:
        position, time = position + quarters, time + seconds
        marks.append(Mark(position, time))
    np.testing.assert_array_equal(times_at(marks, [m.position for m in marks]), [m.time for m in marks])


def test_end_tempi_go_on():
    marks = [Mark(Fraction(0), 1.0), Mark(Fraction(4), 3.0), Mark(Fraction(8), 7.0)]
    found = times_at(marks, [Fraction(-2), Fraction(2), Fraction(6), Fraction(10)])
    np.testing.assert_allclose(found, [0.0, 2.0, 5.0, 9.0])


def test_the_first_bars_are_cut_out_at_their_lines():
    marks = [Mark(Fraction(quarter), 0.5 * quarter) for quarter in range(41)]
    metre = Metre.steady(TimeSignature(4, 4))
    assert [mark.position for mark in first_bars(metre, marks, 2)] == list(range(13))


@given(st.lists(st.integers(1, 9), max_size=8), st.integers(1, 5))
def test_the_last_bars_are_the_same_however_the_way_was_made(lengths, bars):
    metre = Metre.steady(TimeSignature(4, 4))
    way = Parts(metre, (Mark(Fraction(0), 0.0),))
    for length in lengths:
        at = way.marks()[-1].position
        way.add(tuple(Mark(at + quarter, 0.5 * float(at + quarter)) for quarter in range(1, length + 1)))
    everything = way.marks()
    first_line = 4 * (everything[-1].position // 4 - bars)
    wanted = [mark for mark in everything if mark.position >= first_line]
    assert list(way.last(bars)) == (wanted if len(wanted) > 1 else everything[-2:])
    assert [mark for part in way.behind(bars) for mark in part][-len(wanted) :] == wanted
