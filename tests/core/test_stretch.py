"""How the stretch up to a placed line is filled (pulses synthesised from the phrase arch's formula)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from core.onward import onward
from core.stretch import fill, fits
from core.tables import Tables
from core.way import Mark
from tests.core.played import arched, onsets_at

FOUR = Metre.steady(TimeSignature(4, 4))


@pytest.fixture(scope="module")
def tables() -> Tables:
    """Beats in phrase arches (Friberg, Bresin, Sundberg 2006), every fourth accented."""
    return Tables(onsets_at(arched(5, 16, 0.5), accents=slice(None, None, 4)))


def filled(tables: Tables, begin: list[Mark], goal: Mark) -> list[Mark]:
    return fill(tables, FOUR, begin, goal, [landing.mark for landing in onward(tables, FOUR, begin)])


def marks(tables: Tables, *beats: int) -> list[Mark]:
    return [Mark(Fraction(beat), float(tables.onsets.time[beat])) for beat in beats]


@pytest.mark.parametrize("bars", [1, 2, 5, 9])
def test_a_line_placed_where_it_was_suggested_changes_nothing(tables, bars):
    begin, (goal,) = marks(tables, 0, 4), marks(tables, 4 + 4 * bars)
    way = filled(tables, begin, goal)
    assert way[-1] == goal
    assert way == [landing.mark for landing in onward(tables, FOUR, begin)][: 4 * bars]


def test_the_bars_before_a_hesitation_stay(tables):
    """The musician waited a second before bar 7: only the last bar is longer for it."""
    time = tables.onsets.time
    goal = Mark(Fraction(24), float(time[24]) + 1.0)
    way = filled(tables, marks(tables, 0, 4), goal)
    lines = [mark.time for mark in way if mark.position % 4 == 0]
    assert lines == [*time[8:24:4].tolist(), goal.time]


def test_the_right_count_fits_best(tables):
    begin = marks(tables, 0, 4, 8)
    time = float(tables.onsets.time[20])
    score = {bar: fits(tables, FOUR, begin, Mark(Fraction(4 * bar), time)) for bar in (3, 4, 5, 6, 7)}
    assert max(score, key=lambda bar: score[bar]) == 5


def test_where_nothing_sounds_the_end_is_reached_all_the_same(tables):
    begin = marks(tables, 76, 80)
    goal = Mark(Fraction(96), float(tables.onsets.time[80]) + 9.0)
    assert filled(tables, begin, goal)[-1] == goal
    assert np.isfinite(fits(tables, FOUR, begin, goal))
