import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import InputError
from core.passages import Passage, Passages


@st.composite
def reordered(draw):
    """Passages cut out of a recording anywhere, heard in any order."""
    lengths = draw(st.lists(st.integers(1, 100_000), min_size=1, max_size=8))
    gaps = [draw(st.integers(0, 50_000)) for _ in lengths]
    parts, at = [], 0
    for length, gap in zip(lengths, gaps, strict=True):
        parts.append(Passage((at + gap) / 1000, (at + gap + length) / 1000))
        at += gap + length
    return Passages(tuple(draw(st.permutations(parts))))


WORKED = Passages((Passage(10.0, 12.0), Passage(3.0, 4.0), Passage(5.0, 9.0)))


def test_a_worked_example():
    assert WORKED.duration == 7.0
    assert WORKED.to_recording([0, 1.5, 2, 2.5, 3, 7]).tolist() == [10, 11.5, 3, 3.5, 5, 9]
    assert WORKED.to_take([10, 11.5, 3, 3.5, 5, 9]).tolist() == [0, 1.5, 2, 2.5, 3, 7]
    left_out = WORKED.to_take([0, 2.999, 4, 4.5, 9.5, 12, 99])
    assert np.isnan(left_out).all()


def test_before_and_after_the_take_the_outer_passages_go_on():
    assert WORKED.to_recording([-1, 8]).tolist() == [9, 10]


def test_one_time_is_as_good_as_many():
    assert WORKED.to_recording(2.5) == 3.5
    assert WORKED.to_take(3.5) == 2.5


@given(st.floats(0.001, 1e5), st.lists(st.floats(0, 1), min_size=1))
def test_a_whole_recording_is_its_own_take(duration, shares):
    passages = Passages.whole(duration)
    times = np.array(shares) * duration
    np.testing.assert_array_equal(passages.to_recording(times), times)
    np.testing.assert_array_equal(passages.to_take(times), times)
    assert passages.duration == duration


@given(reordered(), st.lists(st.floats(0, 1, exclude_max=True), min_size=1))
def test_there_and_back_is_where_one_was(passages, shares):
    # A nanosecond inside the joints, where rounding could fall to either side.
    joints = np.cumsum([0.0, *(part.duration for part in passages.parts)])
    times = np.array(shares) * passages.duration
    times = times[np.min(np.abs(times[:, None] - joints), axis=1) > 1e-9]
    np.testing.assert_allclose(passages.to_take(passages.to_recording(times)), times, rtol=0, atol=1e-9)


@given(reordered())
def test_durations_add_up(passages):
    assert passages.duration == pytest.approx(sum(part.end - part.start for part in passages.parts))


@given(reordered())
def test_time_runs_at_its_own_pace_within_a_passage(passages):
    for part in passages.parts:
        inside = part.start + np.array([0.1, 0.9]) * part.duration
        assert np.diff(passages.to_take(inside)) == pytest.approx(0.8 * part.duration, abs=1e-9)


@given(reordered(), st.lists(st.floats(0, 1000), min_size=1))
def test_what_is_not_in_a_passage_is_left_out(passages, times):
    heard = [any(part.start <= time < part.end for part in passages.parts) for time in times]
    ends = [time == passages.parts[-1].end for time in times]
    np.testing.assert_array_equal(~np.isnan(passages.to_take(times)), np.array(heard) | np.array(ends))


@pytest.mark.parametrize("parts", [(), ((0, 2), (1, 3)), ((1, 3), (0, 2)), ((0, 1), (0, 1))])
def test_what_cannot_be_heard(parts):
    with pytest.raises(InputError):
        Passages(tuple(Passage(*part) for part in parts))


@pytest.mark.parametrize("times", [(1, 1), (2, 1), (-1, 1), (0, np.inf), (np.nan, 1), (0, np.nan)])
def test_what_is_no_passage(times):
    with pytest.raises(InputError, match="passage"):
        Passage(*times)
