"""Names of beats over their columns. Where a metre has its beats is common practice, no source."""

import numpy as np
import pytest

from app.stack.beat_names import paint_beat_names
from app.stack.layout import Layout
from core.metre import TimeSignature
from tests.app.timeline.paper import painted

HEIGHT = 20


def inked(signature, *, width=1200, **where):
    """Pixels from left to right that bear ink, and the layout."""
    layout = Layout.of(("",), width=width, row_height=20.0)
    cells = painted(
        lambda painter: paint_beat_names(
            painter, layout, TimeSignature.parse(signature), top=0, height=HEIGHT, **where
        ),
        width,
        HEIGHT,
    )
    return (cells < 200).any(axis=(0, 2)), layout


@pytest.mark.parametrize(
    ("signature", "phases"), [("3/4", [1 / 3, 2 / 3]), ("6/8", [0.5]), ("2+2+3/8", [2 / 7, 4 / 7])]
)
def test_each_beat_is_named_over_its_column(qapp, signature, phases):
    ink, layout = inked(signature, ends=False)
    for x in layout.x_of(np.array(phases)):
        assert ink[round(x) - 5 : round(x) + 6].any()
        ink[round(x) - 5 : round(x) + 6] = False
    assert not ink.any()


def test_the_ends_are_named_too(qapp):
    ink, layout = inked("2/4")
    assert all(ink[round(x) - 10 : round(x) + 10].any() for x in layout.x_of(np.array([0.0, 0.5, 1.0])))


def test_no_name_stands_where_something_else_does(qapp):
    ink, layout = inked(
        "4/4", ends=False, free_from=float(Layout.of(("",), width=1200, row_height=20.0).x_of(np.array(0.3)))
    )
    assert not ink[: round(float(layout.x_of(np.array(0.3))))].any()
    assert ink.any()


def test_names_that_would_touch_give_way_to_those_of_the_ends(qapp):
    def names(ink):
        return 1 + int(np.count_nonzero(np.diff(np.flatnonzero(ink)) > 8))

    narrow, layout = inked("7/4", width=400)
    assert all(narrow[round(x) - 10 : round(x) + 10].any() for x in layout.x_of(np.array([0.0, 1.0])))
    assert names(narrow) < names(inked("7/4")[0]) == 8
