"""Places a bar line could have; what is expected follows from the definitions alone."""

import numpy as np
import pytest

from core.line_places import APART, Places, above_neighbours

TIME = np.array([0.0, 1.0, 2.0, 3.0])


def test_a_moment_with_an_onset_near_is_no_place_of_its_own():
    here = Places.of(TIME, np.array([1, 2]), [1.0 + APART / 2, 1.5, 1.5 + APART / 2, 2.6])
    assert here.time.tolist() == [1.0, 2.0, 1.5, 2.6]
    assert here.silent.tolist() == [False, False, True, True]
    # The onset there, or the next one.
    assert here.node.tolist() == [1, 2, 2, 3]


def test_where_nothing_sounds_there_are_moments_alone():
    here = Places.of(np.zeros(0), np.zeros(0, dtype=np.int64), [0.5])
    assert (here.time.tolist(), here.node.tolist(), here.silent.tolist()) == ([0.5], [0], [True])


def test_a_place_stands_out_from_those_near_it_alone():
    here = Places.of(TIME, np.arange(4), [])
    found = above_neighbours(np.array([5.0, 1.0, 2.0, 7.0]), here, due=4.0)
    assert found == pytest.approx([4.0, -4.0, -5.0, 5.0])
