"""Tempo in both its units."""

import pytest

from core.units import MAX_TEMPO_US, clock, quarters_per_minute, us_per_quarter


# MIDI 1.0, RP-001: microseconds a quarter, here rounded to whole ones.
@pytest.mark.parametrize(
    ("tempo", "us"), [(60, 1000000), (61, 983607), (90, 666667), (120, 500000), (132, 454545)]
)
def test_tempo_figures(tempo, us):
    assert round(us_per_quarter(tempo)) == us
    assert quarters_per_minute(us) == pytest.approx(tempo, rel=0.5 / us)


def test_slowest_tempo():
    # MIDI 1.0, RP-001: 24 bits, so 16.777215 s a quarter at the longest.
    assert MAX_TEMPO_US == 16_777_215
    assert quarters_per_minute(MAX_TEMPO_US) == pytest.approx(3.576279, abs=5e-7)


@pytest.mark.parametrize(
    ("seconds", "text"), [(33.214, "0:33.214"), (59.9996, "1:00.000"), (605.0, "10:05.000"), (0.0, "0:00.000")]
)
def test_clock(seconds, text):
    assert clock(seconds) == text
