"""Where heads of bar lines lie."""

import pytest

from app.timeline.heads import head_edges


@pytest.mark.parametrize("x", [0, 3, 500, 996, 999])
def test_the_head_of_a_line_on_screen_is_on_screen(x):
    left, right = head_edges(x, 20, 1000, doubtful=False)
    assert left >= 0
    assert right <= 1000
    assert left <= x < right


def test_the_head_of_a_line_that_has_gone_goes_with_it():
    assert head_edges(-12, 20, 1000, doubtful=False)[1] < 10


def test_a_head_is_in_the_middle_of_its_line():
    left, right = head_edges(500, 20, 1000, doubtful=False)
    assert 500 - left == right - 1 - 500
