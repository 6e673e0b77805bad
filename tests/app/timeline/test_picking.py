"""What is under the pointer. Distances in pixels are those the lane promises; the rest is plain geometry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.timeline.lines import Lines, shown
from app.timeline.picking import GRAB, HEAD, Beat, Empty, Line, Onset, pick
from tests.app.timeline.still_workspace import steady_grid
from tests.app.timeline.test_lines import span_of

HEIGHT = 400.0
LINES = Lines(steady_grid(11, bar=2.0, start=0.0))  # 0 to 20 s
ONSETS = np.array([0.5, 4.04, 9.24])


def at(x, y=200.0, *, lines=LINES, onsets=ONSETS, span=None):
    return pick(x, y, lines=lines, onsets=onsets, span=span or span_of(20.0, 1000), height=HEIGHT)


@pytest.mark.parametrize("away", [-6, -3, 0, 3, 6])
def test_a_bar_line_is_taken_hold_of_within_six_pixels(away):
    assert at(200 + away) == Line((3, 1), 4.0)


@pytest.mark.parametrize("away", [-7, 7])
def test_beside_a_bar_line_there_is_nothing(away):
    assert at(200 + away) == Empty(pytest.approx(4.0 + away * 0.02))


@pytest.mark.parametrize(("away", "y"), [(-11, 5), (11, 5), (11, HEAD - 1)])
def test_the_head_is_a_larger_target(away, y):
    assert at(200 + away, y) == Line((3, 1), 4.0)
    assert isinstance(at(200 + away, HEAD), Empty)


def test_a_beat_inside_a_bar():
    assert at(226) == Beat((3, 2), 4.5)


def test_the_head_belongs_to_the_bar_line_even_where_a_beat_is_nearer():
    close = span_of(20.0, 320)  # beats 8 pixels apart
    assert at(64 + 2.5, 200, span=close) == Line((3, 1), 4.0)
    assert at(64 + 6, 200, span=close) == Beat((3, 2), 4.5)
    assert at(64 + 6, 5, span=close) == Line((3, 1), 4.0)


def test_an_onset_is_picked_at_the_lower_edge_only():
    assert at(462, HEIGHT - 5) == Onset(9.24)
    assert at(465, HEIGHT - 5) == Onset(9.24)
    assert isinstance(at(462, HEIGHT - 30), Empty)
    assert isinstance(at(467, HEIGHT - 5), Empty)


def test_a_line_comes_before_the_onset_it_stands_on():
    assert at(202, HEIGHT - 5) == Line((3, 1), 4.0)


def test_without_bars_there_are_onsets_and_moments():
    assert at(200, lines=None) == Empty(4.0)
    assert at(25, HEIGHT - 5, lines=None) == Onset(0.5)
    assert at(25, HEIGHT - 5, lines=None, onsets=np.array([])) == Empty(0.5)
    assert at(25, HEIGHT - 5, lines=None, onsets=None) == Empty(0.5)


@given(width=st.integers(2, 3000), x=st.floats(0, 1))
def test_whatever_is_picked_is_shown_and_near_and_there_is_room_beside_it(width, x):
    span = span_of(20.0, width)
    target = at(x * width, span=span)
    there = shown(LINES, span)
    places = {LINES.place(i) for i in (*there.bars, *there.beats)}
    if isinstance(target, Line | Beat):
        assert target.place in places
        assert abs(span.x_of(target.time) - x * width) <= GRAB + 1e-6
    gaps = np.sort(LINES.time[[*there.bars]])
    if len(gaps) > 1:
        middle = span.x_of(float(gaps[:2].mean()))
        assert not isinstance(at(middle, span=span), Line)


@given(i=st.integers(0, 10), width=st.integers(100, 3000))
def test_the_very_pixel_of_a_shown_bar_line_picks_it(i, width):
    span = span_of(20.0, width)
    time = float(LINES.bar_time[i])
    assert at(span.x_of(time), span=span) == Line((i + 1, 1), time)
