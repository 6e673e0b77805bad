"""Several passes together."""

import numpy as np
import pytest

from core.tap_passes import DISAGREED, together
from core.tap_snap import Targets

NOBODY = float("nan")


def silent(n):
    return Targets.near(np.zeros(n), np.zeros(0), [np.zeros(0)] * n)


def test_passes_that_agree_are_averaged():
    found = together(np.array([[4.00, 4.02], [6.0, NOBODY]]), np.array([0.03, 0.03]), silent(2))
    assert found.time.tolist() == [pytest.approx(4.01), 6.0]
    assert found.confidence.min() > DISAGREED


def test_where_they_disagree_one_is_taken_and_the_line_is_doubtful():
    onset = np.array([4.5])
    targets = Targets.near(np.array([4.25]), onset, [np.array([2.0])])
    found = together(np.array([[4.0, 4.5]]), np.array([0.03, 0.03]), targets)
    assert found.time[0] == 4.5
    assert found.confidence[0] == DISAGREED
