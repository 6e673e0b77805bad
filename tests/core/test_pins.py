"""Placed lines that cannot all be obeyed are refused."""

import pytest

from core.errors import PinError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.pins import checked, position_of

FOUR = Metre.steady(TimeSignature(4, 4))


def test_the_first_line_opens_bar_one():
    assert checked([Pin(1.0), Pin(3.0)], FOUR, 10.0) == (Pin(1.0, 1), Pin(3.0))


def test_position():
    assert position_of(Pin(0.0, 3, 2), FOUR) == 9


@pytest.mark.parametrize(
    ("pins", "message"),
    [
        ([Pin(11.0, 1)], "outside the take"),
        ([Pin(float("nan"), 1)], "has no time"),
        ([Pin(2.0, 1), Pin(2.0, 2)], "does not come after"),
        ([Pin(1.0, 1, 5)], "no beat 5"),
        ([Pin(1.0, 3), Pin(2.0, 2)], "correct the number"),
        ([Pin(1.0, 1), Pin(1.5, 99)], "no time for all"),
        ([Pin(1.0, 1), Pin(2.0, None, 2)], "needs the number"),
    ],
)
def test_refused(pins, message):
    with pytest.raises(PinError, match=message):
        checked(pins, FOUR, 10.0)
