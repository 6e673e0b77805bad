"""Frames and take time: plain arithmetic, and what was played twice is where it was the first time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.sound.clicks import Clicks, CountIn
from app.sound.course import BETWEEN, FADE, Course, course_of

STRETCHES = st.lists(
    st.tuples(st.floats(0, 100), st.floats(0.05, 20)).map(lambda pair: (pair[0], pair[0] + pair[1])),
    min_size=1,
    max_size=3,
).map(tuple)


def test_one_stretch_runs_from_its_start_to_its_end():
    course = Course(((2.0, 5.0),), 48000)
    assert course.frames == 3 * 48000
    assert course.take_time(0) == 2.0
    assert course.take_time(48000) == 3.0
    assert course.take_time(3 * 48000) is None
    assert course.take_time(-1) is None


def test_at_half_speed_it_lasts_twice_as_long():
    course = Course(((2.0, 5.0),), 48000, speed=0.5)
    assert course.frames == 6 * 48000
    assert course.take_time(48000) == 2.5


def test_a_lead_runs_up_to_the_start_and_may_be_before_the_take():
    course = Course(((0.5, 5.0),), 48000, lead=2.0)
    assert course.take_time(0) == -1.5
    assert course.take_time(2 * 48000) == 0.5


def test_between_two_stretches_it_waits():
    course = Course(((1.0, 2.0), (10.0, 11.0)), 1000)
    gap = round(BETWEEN * 1000)
    assert course.take_time(1000 + gap // 2) == 2.0
    assert course.take_time(1000 + gap) == 10.0
    assert course.frames == 2000 + gap


def test_a_loop_comes_back_and_counts():
    course = Course(((1.0, 2.0),), 1000, loop=True)
    assert course.frames is None
    assert course.take_time(999) == 1.999
    assert course.take_time(1000) == 1.0
    assert [course.lap(frame) for frame in (0, 999, 1000, 5500)] == [0, 0, 1, 5]


def test_entering_a_loop_late_leaves_the_loop_as_it_is():
    course = Course(((1.0, 2.0),), 1000, loop=True, lead=0.1, enter=0.7)
    assert course.take_time(100) == pytest.approx(1.7)
    assert course.take_time(0) == pytest.approx(1.6)
    assert course.take_time(100 + 300) == 1.0
    assert [(piece.out, piece.first, piece.last) for piece in course.pieces(0, 600)] == [
        (100, 1700, 2000),
        (400, 1000, 2000),
    ]


def test_what_is_counted_leads_in_at_the_speed_of_the_course():
    counted = CountIn(Clicks.of([0.0], [0]), 1.5)
    assert course_of(((2.0, 3.0),), 1000, 0.5, False, counted).lead_frames == 3000
    assert course_of(((2.0, 3.0),), 1000, 0.5, False, None).lead_frames == round(FADE * 1000)


@given(STRETCHES, st.sampled_from([0.5, 0.7, 1.0]), st.booleans(), st.floats(0, 2), st.floats(0, 30))
def test_pieces_and_take_time_agree_on_every_frame(stretches, speed, loop, lead, enter):
    course = Course(stretches, 1000, speed, loop, lead, enter)
    last = min(course.frames or 10**6, 40000)
    heard = {}
    for piece in course.pieces(0, last):
        for out in range(piece.out, min(piece.out + piece.last - piece.first, last), 97):
            heard[out] = (piece.first + out - piece.out) * speed / 1000
    for out, seconds in heard.items():
        assert course.take_time(out) == pytest.approx(seconds, abs=1e-9)
    for start in range(0, last, 1031):
        for piece in course.pieces(start, start + 50):
            assert course.take_time(piece.out) == pytest.approx(piece.first * speed / 1000)
