"""Time signatures, and bars counted through their changes."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import MetreError
from core.metre import Metre, TimeSignature, positions


# Common practice, no source: 6/8 has two beats, each a dotted quarter; 3/4 has three.
@pytest.mark.parametrize(
    ("text", "beats", "quarters"),
    [("4/4", 4, 4), ("3/4", 3, 3), ("6/8", 2, 3), ("12/8", 4, 6), ("2+2+3/8", 3, 3.5)],
)
def test_bars(text, beats, quarters):
    signature = TimeSignature.parse(text)
    assert (signature.beats, signature.quarters) == (beats, quarters)


@pytest.mark.parametrize("text", ["4/4", "6/8", "2+2+3/8", "1+1+1+1+1+1/8", "3+3+2/8"])
def test_the_full_text_is_read_again(text):
    assert TimeSignature.parse(text).full == text


@pytest.mark.parametrize("text", ["", "4", "4/3", "0/4", "256/4", "four/4", "4/"])
def test_no_time_signature(text):
    with pytest.raises(MetreError, match="time signature"):
        TimeSignature.parse(text)


def test_groups_that_do_not_add_up():
    with pytest.raises(MetreError, match="add up to 6, not 7"):
        TimeSignature(7, 8, (3, 3))


signatures = st.builds(TimeSignature, st.integers(1, 15), st.sampled_from([2, 4, 8, 16]))


@given(st.dictionaries(st.integers(1, 30), signatures, min_size=1, max_size=4), st.integers(-10, 40))
def test_each_bar_is_as_long_as_its_signature(changes, bar):
    metre = Metre(tuple(sorted(changes.items())))
    assert metre.quarter_of(1) == 0
    assert metre.quarter_of(bar + 1) - metre.quarter_of(bar) == metre.at(bar).quarters > 0


def test_a_metre_that_cannot_be():
    four = TimeSignature(4, 4)
    with pytest.raises(MetreError, match="at least one"):
        Metre(())
    with pytest.raises(MetreError, match="in order"):
        Metre(((3, four), (3, four)))
    with pytest.raises(MetreError, match="shorter than a bar"):
        Metre.steady(four, Fraction(4))


def test_a_metre_that_changes_at_every_bar_does_not_cost_its_length_at_each():
    # Twenty thousand bars each way: where each counted all changes anew, this would take minutes.
    changes = tuple((bar, TimeSignature(3 + bar % 2, 4)) for bar in range(1, 20_001))
    position = positions(Metre(changes))
    assert [position(bar) for bar in (1, 2, 3, 4)] == [0, 4, 7, 11]
    assert [position(bar) for bar in range(1, 20_001)][-1] == 4 * 10_000 + 3 * 9_999
    assert position(-99) == -400
