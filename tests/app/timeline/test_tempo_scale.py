"""Scales of the tempo lane."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.timeline.tempo_scale import scale_for


def test_marks_are_round_and_few():
    scale = scale_for(np.array([88.0, 92.0, 95.0, 101.0, 97.0]), most_marks=4)
    assert scale.marks == (85.0, 90.0, 95.0, 100.0)


def test_long_holds_do_not_squeeze_the_rest():
    tempi = np.concatenate([np.linspace(85, 105, 60), [9.0, 12.0, 400.0]])
    scale = scale_for(tempi)
    assert 70 < scale.low < 85
    assert 105 < scale.high < 120
    assert [scale.beyond(tempo) for tempo in (9.0, 95.0, 400.0)] == [-1, 0, 1]


def test_steady_playing_looks_steady():
    scale = scale_for(np.full(50, 100.0))
    assert scale.high - scale.low >= 20.0


def test_pixels_run_upwards_and_stop_at_the_ends():
    scale = scale_for(np.array([80.0, 100.0, 120.0]))
    assert scale.y_of(scale.low, 10, 110) == 110
    assert scale.y_of(scale.high, 10, 110) == 10
    assert scale.y_of(1.0, 10, 110) == 110
    assert scale.y_of(1e6, 10, 110) == 10


@given(st.lists(st.floats(5, 1000), min_size=1, max_size=80), st.integers(1, 8))
def test_a_scale_always_has_a_mark_and_nearly_all_tempi(tempi, most):
    scale = scale_for(np.array(tempi), most_marks=most)
    assert scale.low < scale.high
    assert 1 <= len(scale.marks) <= most + 2
    assert all(scale.low - 1e-6 <= mark <= scale.high + 1e-6 for mark in scale.marks)
    middle = np.percentile(tempi, (25, 75))
    inside = [tempo for tempo in tempi if middle[0] <= tempo <= middle[1]]
    assert all(scale.beyond(tempo) == 0 for tempo in inside)


@pytest.mark.parametrize("factor", [1.0, 1.002])
def test_a_small_correction_does_not_move_the_scale(factor):
    tempi = np.linspace(83.0, 107.0, 40)
    assert scale_for(tempi * factor).marks == scale_for(tempi).marks
