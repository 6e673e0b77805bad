"""The bench of tapping counts as it says."""

import numpy as np
import pytest

from tests.bench.tapping import effort_left, false_lines, figures

BARS = np.arange(0.0, 20.0, 2.0)


def test_lines_in_their_places_are_right_and_leave_nothing_to_do():
    assert figures(BARS + 0.02, BARS)["within_30ms"] == 1.0
    assert false_lines(BARS, BARS) == 0.0
    assert effort_left(BARS + 0.04, BARS) == 0.0


@pytest.mark.parametrize(
    ("lines", "gestures"),
    [
        (np.delete(BARS, 4), 1),  # one to put in
        (np.sort(np.append(BARS, 7.0)), 1),  # one to take out
        (np.where(BARS == 8.0, 8.4, BARS), 1),  # one to move
        (np.append(np.delete(BARS, [3, 4]), 18.5), 3),  # two to put in, one to take out
    ],
)
def test_each_gesture_puts_one_line_right(lines, gestures):
    assert effort_left(lines, BARS) == pytest.approx(100 * gestures / len(BARS))


def test_a_second_line_for_one_bar_and_one_far_from_all_are_false():
    assert false_lines(np.sort(np.append(BARS, [8.1, 11.0])), BARS) == pytest.approx(2 / 12)
