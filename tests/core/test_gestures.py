"""Gestures on single lines: what is meant by a place on the screen, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import gestures
from core.document import COMMON_TIME, Document
from core.edits import Accept, Insert, LetGo, Nudge, Place, TakeOut
from core.errors import InputError, PinError
from core.grid import Grid, Pin
from core.metre import Metre
from tests.core.free_grids import FOUR, grid_of
from tests.core.test_tracker import clicks

# Bars of two seconds from 10.0 s on: bar 1 at 10, bar 8 at 24 and the end of it, bar 9, at 26.
GRID = grid_of(COMMON_TIME, [0.5] * 32, start=10.0, placed=frozenset([0, 4]))
DOCUMENT = Document(COMMON_TIME, (Pin(10.0, 1), Pin(12.0, 2)))


def test_the_nearest_line_within_a_third_is_meant():
    assert gestures.place_at(DOCUMENT, GRID, 16.55) == Place(Pin(16.55, 4))
    assert gestures.place_at(DOCUMENT, GRID, 15.45) == Place(Pin(15.45, 4))
    assert gestures.place_at(DOCUMENT, GRID, 9.5) == Place(Pin(9.5, 1))
    assert gestures.place_at(DOCUMENT, GRID, 26.5) == Place(Pin(26.5, 9))


def test_between_two_lines_one_more_is_counted():
    edit = gestures.place_at(DOCUMENT, GRID, 16.9)
    assert edit == Insert(Pin(16.9, 5), (Pin(16.0, 4), Pin(18.0, 6)))
    assert edit.apply(DOCUMENT).pins == (*DOCUMENT.pins, Pin(16.0, 4), Pin(16.9, 5), Pin(18.0, 6))


def test_before_the_first_line_and_after_the_last():
    assert gestures.place_at(DOCUMENT, GRID, 8.0) == Place(Pin(8.0, 0))
    assert gestures.place_at(DOCUMENT, GRID, 28.0) == Place(Pin(28.0, 10))
    with pytest.raises(PinError, match="pickup"):
        gestures.place_at(replace(DOCUMENT, metre=Metre.steady(FOUR, Fraction(1))), GRID, 8.0)


def test_where_nothing_is_shown_the_first_line_is_bar_1():
    assert gestures.place_at(Document(), Grid(COMMON_TIME, ()), 3.0) == Place(Pin(3.0, 1))


@given(st.floats(0.0, 60.0))
def test_a_line_can_be_placed_anywhere(time):
    if any(0 < abs(time - line.time) < 0.05 for line in GRID.bar_lines):
        return
    after = gestures.place_at(DOCUMENT, GRID, time).apply(DOCUMENT)
    assert time in {pin.time for pin in after.pins}


def test_a_line_stays_between_its_neighbours():
    assert gestures.drag(DOCUMENT, GRID, (4, 1), 17.9) == Place(Pin(17.9, 4))
    with pytest.raises(PinError, match=r"Bar 4 must stay before bar 5 at 0:18\.000\."):
        gestures.drag(DOCUMENT, GRID, (4, 1), 18.0)
    with pytest.raises(PinError, match="must stay after bar 3"):
        gestures.alternative(DOCUMENT, GRID, 4, 13.0)
    with pytest.raises(PinError, match="before the take begins"):
        gestures.drag(DOCUMENT, GRID, (1, 1), -0.1)
    with pytest.raises(InputError, match=r"Bar 40 is not in the take, whose bar lines are 1 to 9\."):
        gestures.drag(DOCUMENT, GRID, (40, 1), 18.0)


def test_a_beat_gives_way_to_placed_beats_alone():
    assert gestures.drag(DOCUMENT, GRID, (4, 2), 17.7) == Place(Pin(17.7, 4, 2))
    placed = grid_of(COMMON_TIME, [0.5] * 32, start=10.0, placed=frozenset([14]))
    with pytest.raises(PinError, match="Beat 2 of bar 4 must stay before beat 3 of bar 4"):
        gestures.drag(DOCUMENT, placed, (4, 2), 17.7)


@pytest.mark.parametrize(("change", "words"), [({"holds": (4,)}, "is held"), ({"free": (4,)}, "has no pulse")])
def test_beats_of_held_and_free_bars_are_not_placed(change, words):
    document = replace(DOCUMENT, **change)
    with pytest.raises(PinError, match=words):
        gestures.drag(document, GRID, (4, 2), 17.2)
    with pytest.raises(PinError, match=words):
        gestures.nudge(document, GRID, [(4, 2)], 0.001)
    assert gestures.drag(document, GRID, (4, 1), 16.2)


def test_no_line_is_put_into_a_free_bar():
    with pytest.raises(InputError, match="no pulse"):
        gestures.place_at(replace(DOCUMENT, free=(4,)), GRID, 17.0)


def test_nudging_in_order_of_time():
    assert gestures.nudge(DOCUMENT, GRID, [(4, 1), (2, 1)], 0.005) == Nudge((Pin(12.0, 2), Pin(16.0, 4)), 0.005)
    with pytest.raises(PinError, match="no room"):
        gestures.nudge(DOCUMENT, GRID, [(4, 1)], 2.5)
    with pytest.raises(PinError, match="before the take"):
        gestures.nudge(DOCUMENT, GRID, [(1, 1)], -10.5)
    with pytest.raises(InputError, match="choose"):
        gestures.nudge(DOCUMENT, GRID, [], 0.005)


def test_removing_lets_go_of_a_placed_line_and_takes_out_a_suggested_one():
    assert gestures.remove(DOCUMENT, GRID, 2) == LetGo(((2, 1),))
    assert gestures.remove(DOCUMENT, GRID, 5) == TakeOut(5, (Pin(16.0, 4), Pin(20.0, 5)))
    with pytest.raises(InputError, match="first bar line"):
        gestures.remove(replace(DOCUMENT, pins=()), GRID, 1)
    with pytest.raises(InputError, match="last bar line"):
        gestures.remove(DOCUMENT, GRID, 9)


def test_letting_go_takes_what_is_placed_among_the_chosen():
    assert gestures.let_go(DOCUMENT, GRID, [(3, 1), (2, 1)]) == LetGo(((2, 1),))
    with pytest.raises(InputError, match="only placed lines"):
        gestures.let_go(DOCUMENT, GRID, [(3, 1)])
    with pytest.raises(InputError, match="Bar 1 has no pulse and keeps both its ends"):
        gestures.let_go(replace(DOCUMENT, free=(1,)), GRID, [(2, 1)])


def test_accepting_up_to_a_bar():
    assert gestures.accept(DOCUMENT, GRID, 4) == Accept((Pin(14.0, 3), Pin(16.0, 4)))
    with pytest.raises(InputError, match="placed already"):
        gestures.accept(DOCUMENT, GRID, 2)


def test_the_nearest_onset():
    onsets = clicks(np.array([1.0, 2.0, 4.0]), 5.0)
    assert gestures.nearest_onset(onsets, 2.9, 1.0) == 2.0
    assert gestures.nearest_onset(onsets, 3.1, 1.0) == 4.0
    assert gestures.nearest_onset(onsets, 0.0, 1.0) == 1.0
    assert gestures.nearest_onset(onsets, 9.0, 1.0) is None
    assert gestures.nearest_onset(clicks(np.zeros(0), 5.0), 2.0, 1.0) is None
