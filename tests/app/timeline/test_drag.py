"""A line in the hand. Plain arithmetic; the wording is the project's own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.timeline.drag import LineDrag

HELD = LineDrag.of((3, 1), 10.0, (8.0, 12.0))


def test_it_goes_where_the_hand_goes():
    moved = HELD.to(10.023, onset=None, within=0.05, least=0.01)
    assert (moved.time, moved.origin, moved.snapped, moved.moved) == (10.023, 10.0, False, True)
    assert moved.words == "+23 ms"


def test_near_an_onset_it_stands_on_it():
    moved = HELD.to(10.02, onset=10.025, within=0.05, least=0.01)
    assert moved.time == 10.025
    assert moved.snapped
    assert moved.words == "+25 ms, on the onset"


@pytest.mark.parametrize(
    ("pointer", "words"), [(10.02, "+20 ms, 5 ms before the onset"), (10.033, "+33 ms, 8 ms after the onset")]
)
def test_without_snapping_it_says_how_far_the_onset_is(pointer, words):
    moved = HELD.to(pointer, onset=10.025, within=0.0, least=0.01)
    assert moved.time == pointer
    assert moved.words == words


def test_back_where_it_was_it_has_not_moved():
    moved = HELD.to(11.0, onset=None, within=0.05, least=0.01).to(10.0, onset=None, within=0.05, least=0.01)
    assert not moved.moved
    assert moved.words == "0 ms"


def test_an_onset_beyond_a_neighbour_is_not_snapped_to():
    moved = HELD.to(12.1, onset=12.1, within=0.05, least=0.01)
    assert moved.time == pytest.approx(11.99)
    assert not moved.snapped


@given(
    pointer=st.floats(-5, 25),
    onset=st.none() | st.floats(0, 20),
    within=st.floats(0, 1),
    half=st.floats(0.001, 2),
)
def test_it_never_passes_a_neighbour(pointer, onset, within, half):
    held = LineDrag.of((3, 1), 10.0, (10.0 - half, 10.0 + half))
    moved = held.to(pointer, onset=onset, within=within, least=0.01)
    assert 10.0 - half < moved.time < 10.0 + half
