"""Figures in words: the same everywhere in the window."""

import pytest

from app.sayings import clock, offset, signed, sureness
from core.grid import DOUBTFUL, Beat

MINUS = "\N{MINUS SIGN}"


def test_offsets_have_their_sign_and_a_true_minus():
    assert offset(-0.6571) == f"{MINUS}657 ms"
    assert offset(0.012) == "+12 ms"
    assert [offset(0.0004), offset(-0.0004)] == ["0 ms", "0 ms"]
    assert [signed(-1.25, 2), signed(0.5, 3), signed(-0.0004, 3)] == [f"{MINUS}1.25", "+0.500", "0.000"]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.4, "0:00"), (59.6, "1:00"), (603.0, "10:03"), (7261.0, "2:01:01")],
)
def test_a_clock_carries_what_it_rounds(seconds, words):
    assert clock(seconds) == words


def test_how_sure_a_line_is_goes_down_in_words():
    said = [sureness(Beat(1.0, 1, 1, False, sure)) for sure in (0.95, 0.7, DOUBTFUL - 0.01, DOUBTFUL / 4)]
    assert said == ["sure", "fairly sure", "doubtful", "a guess"]
    assert sureness(Beat(1.0, 1, 1, True)) == "placed by you"
