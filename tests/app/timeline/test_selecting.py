"""Selections from clicks and keys: what lists everywhere do (common practice, no source)."""

import pytest

from app.timeline.lines import Lines
from app.timeline.selecting import bars_between, bars_through, stepped
from tests.app.timeline.still_workspace import steady_grid

LINES = Lines(steady_grid(6, bar=2.0, start=1.0))


@pytest.mark.parametrize(("anchor", "place"), [((2, 1), (4, 1)), ((4, 1), (2, 3))])
def test_a_range_goes_from_either_end(anchor, place):
    assert bars_through(LINES, anchor, place) == {(2, 1), (3, 1), (4, 1)}


def test_a_stretch_of_time_holds_the_bar_lines_in_it():
    assert bars_between(LINES, 7.5, 2.9) == {(2, 1), (3, 1), (4, 1)}
    assert bars_between(LINES, 3.1, 4.9) == frozenset()


@pytest.mark.parametrize(
    ("at", "step", "to"),
    [
        ((3, 1), "before", (2, 1)),
        ((3, 1), "after", (4, 1)),
        ((3, 2), "before", (3, 1)),
        ((3, 2), "after", (4, 1)),
        ((3, 1), "beat before", (2, 4)),
        ((3, 4), "beat after", (4, 1)),
        ((1, 1), "before", (1, 1)),
        ((6, 1), "after", (6, 1)),
        ((3, 1), "first", (1, 1)),
        (None, "last", (6, 1)),
        (None, "after", (3, 1)),
        (None, "before", (2, 1)),
        ((99, 1), "after", (3, 1)),
    ],
)
def test_keys_lead_from_line_to_line(at, step, to):
    assert stepped(LINES, at, step, start=5.0) == to
