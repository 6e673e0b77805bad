"""Novelty, against what its kernel gives where the answer is known."""

import numpy as np
import pytest

from core.find_onsets import find_onsets
from core.metre import Metre
from core.novelty import REACH, features_of, novelty
from tests.core.free_grids import FOUR, grid_of, midi_take


def test_it_is_highest_where_one_thing_becomes_another():
    # Foote 2000: the kernel, laid on the corner of two blocks that are each alike, gives its maximum.
    features = np.repeat([[0.0, 1.0], [3.0, -1.0], [0.0, 1.0]], [20, 15, 25], axis=0)
    new = novelty(features)
    assert sorted(np.argsort(new)[-2:].tolist()) == [20, 35]
    assert new[20] == pytest.approx(new[35], rel=0.05)


def test_where_all_is_the_same_nothing_is_new():
    assert not novelty(np.ones((30, 3))).any()


def test_what_differs_at_random_is_hardly_new():
    assert np.abs(novelty(np.random.default_rng(2).normal(size=(80, 12)))).max() < 0.2


def test_far_from_the_change_it_hears_nothing_of_it():
    new = novelty(np.repeat([[0.0], [1.0]], 30, axis=0))
    assert np.abs(new[: 30 - REACH]).max() < 1e-12


def test_register_level_and_density_of_bars_are_heard():
    grid = grid_of(Metre.steady(FOUR), [0.5] * 96)
    notes = []
    for i, time in enumerate(grid.beat_times[:-1].tolist()):
        later = i >= 48
        notes.append((time, time + 0.2, (48 if later else 72) + i % 3))
        notes += [(time + 0.25, time + 0.4, 50 + i % 5)] * later
    new = novelty(features_of(find_onsets(midi_take(notes)), grid))
    assert int(np.argmax(new)) == 12
