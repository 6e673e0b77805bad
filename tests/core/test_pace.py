"""Tempi of bars (arithmetic on plain times)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from core.pace import LEVEL, bar_lengths, bar_lines, level_of, levels_after, tempo_after
from core.way import Mark

METRE = Metre(((1, TimeSignature(4, 4)), (3, TimeSignature(3, 4))))


def test_a_quarter_lasts_as_long_whatever_the_metre_of_its_bar():
    marks = [Mark(Fraction(position), 0.5 * position) for position in (0, 4, 8, 11, 14)]
    assert np.allclose(bar_lengths(METRE, marks), np.log(0.5))
    assert bar_lines(METRE, marks) == [0, 4, 8, 11, 14]


def test_a_bar_begun_before_the_first_mark_is_left_out():
    marks = [Mark(Fraction(2), 1.0), Mark(Fraction(8), 4.0), Mark(Fraction(11), 7.0)]
    assert np.allclose(np.exp(bar_lengths(METRE, marks)), [0.5, 1.0])


def test_marks_without_a_whole_bar_give_the_tempo_from_end_to_end():
    marks = [Mark(Fraction(1), 1.0), Mark(Fraction(3), 2.2)]
    assert np.exp(bar_lengths(METRE, marks)) == pytest.approx([0.6])


def test_after_one_hesitation_the_tempo_is_as_before_and_after_two_it_is_new():
    assert tempo_after([0.0, 0.0, 0.0, 0.8]) == 0.0
    assert tempo_after([0.0, 0.0, 0.8, 0.8]) == 0.8
    assert 0.0 < tempo_after([0.0, 0.0, 0.0, 0.1]) < 0.1


def test_a_level_is_kept_until_the_tempo_has_left_it():
    lengths = [0.0] * 8 + [LEVEL] * 12
    levels = levels_after(lengths)
    assert levels[7] == 0
    assert levels[-1] == level_of(LEVEL) == 1
    assert sum(a != b for a, b in pairwise(levels)) == 1
