"""Marks of pauses, without a window."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.cutting.pause_marks import GRAB, HIGH, ROOM, TOP, grip_at, marks_of
from app.span import Span
from core.arrangement import AS_PLAYED, Arrangement
from core.cutting import EDGE, LEAST
from core.hesitations import Hesitation
from core.passages import Passage

PAUSE = Hesitation(10.0, 14.0, 2.5, 5)
Y = TOP + HIGH / 2


@pytest.fixture
def span(qapp):
    span = Span()
    span.set_duration(600.0)
    span.set_width(1000)
    span.show(5.0, 25.0)
    return span


def test_a_mark_is_as_long_as_the_pause_is_heard():
    (mark,) = marks_of((PAUSE,), AS_PLAYED)
    assert (mark.end, mark.words) == (14.0, "4.0 s, as played")
    (mark,) = marks_of((PAUSE,), Arrangement((), (Passage(11.0, 12.0), Passage(20.0, 21.0))))
    assert (mark.end, mark.words) == (13.0, "1.0 s taken out, 3.0 s left")


def test_its_grip_is_under_the_pointer_in_its_own_row_alone(span):
    marks = marks_of((PAUSE,), AS_PLAYED)
    x = span.x_of(14.0)
    assert grip_at(x + GRAB - 1, Y, marks, span) == marks[0]
    assert grip_at(x + GRAB + 1, Y, marks, span) is None
    assert grip_at(x, TOP + HIGH + 8, marks, span) is None
    assert grip_at(x, Y, (), span) is None


def test_of_two_the_nearest_is_taken(span):
    close = Hesitation(14.05, 14.1 + ROOM / 50, 0.7, 6)
    marks = marks_of((PAUSE, close), Arrangement((), (Passage(14.1, 14.1 + ROOM / 50 - EDGE),)))
    assert grip_at(span.x_of(14.0) - 2, Y, marks, span).pause == PAUSE
    assert grip_at(span.x_of(marks[1].end) + 2, Y, marks, span).pause == close


def test_where_there_is_no_room_on_screen_there_is_no_grip(span):
    marks = marks_of((PAUSE,), AS_PLAYED)
    span.show(0.0, 600.0)
    assert not marks[0].shown(span)
    assert grip_at(span.x_of(14.0), Y, marks, span) is None


@given(end=st.floats(-100, 100), within=st.sampled_from([0.0, 0.2]))
def test_wherever_the_hand_goes_the_pause_stays_between_its_ends(end, within):
    mark = marks_of((PAUSE,), AS_PLAYED)[0].to(end, within)
    assert 2 * EDGE <= mark.lasts <= mark.whole
    assert mark.lasts == mark.whole or mark.whole - mark.lasts >= LEAST
    if within and abs(end - 11.5) < within:
        assert mark.lasts == PAUSE.suggested
