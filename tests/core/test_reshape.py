"""Gestures on ranges of bars, metre and count."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from core import gestures
from core.document import COMMON_TIME, Document
from core.edits import (
    ChangeMetre,
    CountFrom,
    MarkPickup,
    Renumber,
)
from core.errors import BarwrightError, InputError, MetreError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from tests.core.free_grids import FOUR, grid_of

THREE = TimeSignature(3, 4)
# Bars of two seconds from 10.0 s on: bar n at 8 + 2n, bar 21 the last line.
GRID = grid_of(COMMON_TIME, [0.5] * 80, start=10.0)
DOCUMENT = Document(COMMON_TIME, (Pin(10.0, 1), Pin(12.0, 2), Pin(29.0, 11)))


def test_bars_of_a_range_half_as_long():
    edit = gestures.halve(Document(), GRID, 5, 6)
    assert edit.pins[:4] == (Pin(18.0, 5), Pin(19.0, 6), Pin(20.0, 7), Pin(21.0, 8))
    # The lines after it as they were, two numbers on.
    assert edit.pins[4:] == tuple(Pin(8.0 + 2 * bar, bar + 2) for bar in range(7, 13))
    assert edit.apply(Document()).pins == edit.pins


def test_the_middle_of_a_bar_of_three_is_the_beat_nearest_to_it():
    metre = Metre.steady(THREE)
    grid = grid_of(metre, [0.6, 0.6, 0.6, 0.6, 0.4, 1.0, *[0.6] * 30], start=1.0)
    edit = gestures.halve(Document(metre), grid, 2, 2)
    assert edit.pins[1].time == pytest.approx(3.8)


def test_to_the_end_the_first_lines_say_how_it_goes_on():
    edit = gestures.halve(Document(), GRID, 5, None)
    assert edit.pins == tuple(Pin(18.0 + i, 5 + i) for i in range(6))
    assert gestures.halve(Document(), GRID, 20, None).pins == (Pin(48.0, 20), Pin(49.0, 21))
    edit = gestures.double(Document(), GRID, 5, None)
    assert edit.pins == tuple(Pin(18.0 + 4 * i, 5 + i) for i in range(6))


def test_bars_of_a_range_twice_as_long():
    edit = gestures.double(Document(), GRID, 5, 8)
    assert edit.pins[:3] == (Pin(18.0, 5), Pin(22.0, 6), Pin(26.0, 7))
    assert edit.pins[3:] == tuple(Pin(8.0 + 2 * bar, bar - 2) for bar in range(10, 15))
    with pytest.raises(InputError, match="Bars 5 to 7 cannot be joined in pairs"):
        gestures.double(Document(), GRID, 5, 7)


def test_shifting_a_range_by_a_beat_leaves_its_end():
    edit = gestures.shift(DOCUMENT, GRID, 5, 6, 1)
    assert edit.pins == (Pin(18.5, 5), Pin(20.5, 6), Pin(22.0, 7))
    assert gestures.shift(DOCUMENT, GRID, 5, 6, -1).pins[0] == Pin(17.5, 5)


def test_shifting_to_the_end_takes_placed_lines_along():
    grid = grid_of(COMMON_TIME, [0.5] * 40 + [0.4] * 40, start=10.0)
    placed = next(beat for beat in grid.beats if (beat.bar, beat.beat) == (18, 1))
    after = next(beat for beat in grid.beats if (beat.bar, beat.beat) == (18, 2))
    document = Document(COMMON_TIME, (Pin(10.0, 1), Pin(placed.time, 18)))
    edit = gestures.shift(document, grid, 5, None, 1)
    assert edit.pins[:2] == (Pin(18.5, 5), Pin(20.5, 6))
    assert edit.pins[-1] == Pin(after.time, 18)
    assert edit.apply(document).pins == (Pin(10.0, 1), *edit.pins)


def test_shifting_out_of_the_take_is_refused():
    with pytest.raises(InputError, match="does not reach"):
        gestures.shift(Document(), GRID, 1, 2, -1)
    with pytest.raises(InputError, match="no beat at all"):
        gestures.shift(Document(), GRID, 2, 3, 0)


@pytest.mark.parametrize("name", ["halve", "double"])
@pytest.mark.parametrize(("first", "last"), [(5, 6), (7, 8), (5, None)])
def test_ranges_with_a_free_bar_are_refused(name, first, last):
    document = replace(DOCUMENT, free=(8,)) if last != 6 else replace(DOCUMENT, free=(6,))
    with pytest.raises(InputError, match="has no pulse"):
        getattr(gestures, name)(document, GRID, first, last)


@pytest.mark.parametrize(("first", "last"), [(0, 3), (3, 30), (6, 5), (21, None)])
def test_ranges_that_are_not_in_the_take(first, last):
    for make in (
        lambda: gestures.halve(DOCUMENT, GRID, first, last),
        lambda: gestures.shift(DOCUMENT, GRID, first, last, 1),
        lambda: gestures.free(DOCUMENT, GRID, first, last or 99),
    ):
        with pytest.raises(BarwrightError, match=r"not in the take|no range"):
            make()


def test_metre():
    assert gestures.change_metre(DOCUMENT, GRID, 7, THREE) == ChangeMetre(7, THREE)
    with pytest.raises(MetreError, match="in 4/4 already"):
        gestures.change_metre(DOCUMENT, GRID, 7, FOUR)
    with pytest.raises(MetreError, match="no pulse"):
        gestures.change_metre(replace(DOCUMENT, free=(7,)), GRID, 7, THREE)


def test_the_pickup_is_counted_back_from_bar_1():
    assert gestures.pickup(DOCUMENT, GRID, (0, 3)) == MarkPickup(Fraction(2))
    assert gestures.pickup(DOCUMENT, GRID, None) == MarkPickup(Fraction(0))
    six = replace(DOCUMENT, metre=Metre.steady(TimeSignature(6, 8)))
    assert gestures.pickup(six, GRID, (0, 2)) == MarkPickup(Fraction(3, 2))
    with pytest.raises(InputError, match="bar before bar 1"):
        gestures.pickup(DOCUMENT, GRID, (3, 2))


def test_counting():
    assert gestures.renumber(DOCUMENT, GRID, 5, 7) == Renumber(Pin(18.0, 7), 2)
    assert gestures.count_from(DOCUMENT, GRID, 5, 1) == CountFrom(-4)
    for make in (gestures.renumber, gestures.count_from):
        with pytest.raises(InputError, match="that number already"):
            make(DOCUMENT, GRID, 5, 5)
