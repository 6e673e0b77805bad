"""Bars counted in units."""

import pytest

from core.metre import TimeSignature
from core.pulse import BAR, BEAT, SUB, pulse_of


# Common practice, no source: a crotchet beat divides in two, a dotted one in three.
@pytest.mark.parametrize(
    ("text", "quarter", "levels"),
    [
        ("3/4", 0.5, (BAR, BEAT, BEAT)),
        ("2/4", 1.0, (BAR, SUB, BEAT, SUB)),
        ("6/8", 1.0, (BAR, SUB, SUB, BEAT, SUB, SUB)),
        ("2+3/8", 1.0, (BAR, SUB, BEAT, SUB, SUB)),
    ],
)
def test_levels(text, quarter, levels):
    pulse = pulse_of(TimeSignature.parse(text), quarter)
    assert pulse.levels == levels
    assert pulse.unit_quarters * pulse.units == pulse.signature.quarters
    assert pulse.mirrored().mirrored() == pulse


def test_counted_backwards():
    pulse = pulse_of(TimeSignature.parse("2+3/8"), 1.0)
    assert pulse.beat_units == (0, 2)
    assert pulse.mirrored().beat_units == (0, 3)
