"""From a way to a grid."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from core.lay_out import PLACED, laid_out
from core.metre import Metre, TimeSignature
from core.ranking import Judged
from core.tables import Tables
from core.way import Mark
from tests.core.played import onsets_at

THREE = TimeSignature(3, 4)


@pytest.fixture(scope="module")
def tables() -> Tables:
    return Tables(onsets_at(np.arange(0, 40) * 0.5 + 1.0, accents=slice(None, None, 3)))


def test_beats_without_a_mark_lie_in_proportion(tables):
    marks = [Mark(Fraction(0), 1.0), Mark(Fraction(3), 2.5), Mark(Fraction(6), 4.6)]
    grid = laid_out(tables, Metre.steady(THREE), marks, {mark.position: PLACED for mark in marks})
    assert np.allclose(grid.beat_times, [1.0, 1.5, 2.0, 2.5, 3.2, 3.9, 4.6])
    assert [beat.placed for beat in grid.beats] == [True, False, False, True, False, False, True]


def test_a_pickup_begins_inside_its_bar(tables):
    marks = [Mark(Fraction(-1), 0.5), Mark(Fraction(0), 1.0), Mark(Fraction(3), 2.5)]
    grid = laid_out(tables, Metre.steady(THREE, Fraction(1)), marks, {})
    assert (grid.beats[0].bar, grid.beats[0].beat, grid.beats[0].time) == (0, 3, 0.5)


def test_nothing_lies_before_the_take(tables):
    marks = [Mark(Fraction(-6), -1.9), Mark(Fraction(0), 1.0), Mark(Fraction(3), 2.5)]
    assert laid_out(tables, Metre.steady(THREE), marks, {}).beats[0].time >= 0


def test_verdicts_are_kept_and_found_where_there_are_none(tables):
    marks = [Mark(Fraction(3 * bar), 1.0 + 1.5 * bar) for bar in range(6)]
    known = {marks[0].position: PLACED, marks[1].position: PLACED, marks[2].position: Judged(0.25, (3.0,))}
    lines = laid_out(tables, Metre.steady(THREE), marks, known).bar_lines
    assert [line.placed for line in lines] == [True, True, False, False, False, False]
    assert (lines[2].confidence, lines[2].alternatives) == (0.25, (3.0,))
    assert all(line.confidence > 0.5 for line in lines[3:])
