"""The ring: what goes in comes out in order, and the card is told the truth about what is missing."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from app.sound.ring import Ring


def rows(first, count):
    numbers = np.arange(first, first + count, dtype=np.float32)
    return np.stack([numbers, -numbers], axis=1)


def pull(ring, count, heard=0.0):
    out = np.full((count, 2), np.nan, dtype=np.float32)
    ring.pull(out, heard)
    return out


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 40)), max_size=40))
def test_every_frame_comes_out_once_in_order(steps):
    ring, got = Ring(64), []
    for put, wanted in steps:
        room = min(put, 64 - (ring.written - ring.read))
        ring.put(ring.written, rows(ring.written, room))
        there = min(wanted, ring.written - ring.read)
        out = pull(ring, wanted)
        assert not out[there:].any()
        got.append(out[:there, 0])
    np.testing.assert_array_equal(np.concatenate([[], *got]), np.arange(ring.read))


def test_only_frames_that_are_due_are_missed():
    ring = Ring(64)
    pull(ring, 10)
    assert ring.missed == 0
    ring.due = True
    ring.put(0, rows(0, 4))
    pull(ring, 10)
    assert (ring.read, ring.missed, ring.asked, ring.largest) == (4, 6, 20, 10)


def test_what_lies_ahead_can_be_put_right():
    ring = Ring(64)
    ring.put(0, rows(0, 50))
    pull(ring, 20)
    ring.put(30, rows(100, 20))
    np.testing.assert_array_equal(pull(ring, 30)[:, 0], [*range(20, 30), *range(100, 120)])
    np.testing.assert_array_equal(ring.get(45, 5), rows(115, 5))


def test_frame_0_is_where_most_of_the_latest_requests_have_it():
    ring = Ring(1 << 14)
    assert ring.zero(1000) is None
    ring.put(0, rows(0, 8000))
    for i in range(40):
        pull(ring, 100, heard=5.0 + i / 10 + (0.001 if i % 7 == 0 else 0.0))
    assert abs(ring.zero(1000) - 5.0) < 1e-9
    # After a gap of half a second everything is heard later: what was said before counts no more.
    pull(ring, 100, heard=5.0 + 4.0 + 0.5)
    assert abs(ring.zero(1000) - 5.5) < 1e-9


def test_a_request_that_finds_nothing_says_nothing_about_time():
    ring = Ring(64)
    pull(ring, 10, heard=1.0)
    assert ring.zero(1000) is None
