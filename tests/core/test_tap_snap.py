"""Lines go to the onset that evidence and taps speak for together, or stay on the taps."""

import numpy as np
import pytest

from core.tap_snap import NOTHING, Targets, snapped

ONSETS = np.array([0.96, 1.01, 1.30, 2.00, 3.20])


def targets(lines, *gains):
    return Targets.near(np.array(lines), ONSETS, [np.array(gain, float) for gain in gains])


def test_onsets_beyond_reach_are_no_targets():
    near = targets([1.02, 2.1], [0] * 5, [0] * 5)
    assert near.tap.tolist() == [0, 0, 0, 1]
    assert near.onset.tolist() == [0, 1, 2, 3]


def test_evidence_and_distance_decide_together():
    """By hand: 1 - (0.04 / 0.04)^2 / 2 = 0.5 is more than 0 - (0.01 / 0.04)^2 / 2."""
    taps, spread = np.array([[1.0]]), np.array([[0.04]])
    found = snapped(taps, spread, targets([1.0], [1, 0, 0, 0, 0]))
    assert (found.time[0], found.onset[0], found.value[0]) == (0.96, 0, pytest.approx(0.5))
    found = snapped(taps, spread, targets([1.0], [0, 0, 0, 0, 0]))
    assert found.time[0] == 1.01


def test_where_no_onset_is_worth_it_the_tap_holds():
    found = snapped(np.array([[1.0]]), np.array([[0.04]]), targets([1.0], [NOTHING - 1] * 5))
    assert (found.time[0], found.onset[0]) == (1.0, -1)


def test_passes_are_weighed_by_their_spread():
    """Inverse variances, as in any text on combining measurements: (0 / 0.02^2 + 0.1 / 0.04^2) / sum = 0.02."""
    found = snapped(np.array([[5.0, 5.1]]), np.array([[0.02, 0.04]]), targets([5.0], [0] * 5))
    assert found.time[0] == pytest.approx(5.02)
