"""Counting taps: missed ones are counted over, doubled ones dropped, placed lines stay where they are."""

import numpy as np
import pytest

from core.errors import PinError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.tap_count import count, without_doubles
from core.tap_places import Places

METRE = Metre.steady(TimeSignature(4, 4))
# Bars of about 2 s, broader and quicker by a twenty-fifth every sixteen bars.
BARS = 1.0 + np.concatenate([[0.0], np.cumsum(2.0 * (1 + 0.04 * np.sin(np.arange(48) * np.pi / 8)))])


def bars_of(times, *, every=1, pins=(), first=1):
    places = Places.of(METRE, first, 1, every, 3 * len(BARS))
    return [(item.time, places.all[item.place].bar) for item in count(np.asarray(times), places, pins)]


def counted_over(seed):
    """Whether up to three missed taps of a take are counted over."""
    random = np.random.default_rng(seed)
    lost = set(random.choice(np.arange(3, 45), random.integers(0, 4), replace=False).tolist())
    kept = np.array([k for k in range(len(BARS)) if k not in lost or k - 1 in lost])
    # 25 ms of scatter, as measured on tapping musicians (Repp 2005, from memory).
    taps = (BARS + random.normal(0, 0.025, len(BARS)))[kept]
    return bars_of(taps) == list(zip(taps.tolist(), (kept + 1).tolist(), strict=True))


def test_missed_taps_are_counted_over():
    # One tap that is lost where the playing slows may look like a long bar: hardly ever, as nothing else is known.
    assert np.mean([counted_over(seed) for seed in range(200)]) >= 0.98


def test_a_doubled_tap_means_nothing():
    taps = np.sort(np.append(BARS, BARS[7] + 0.12))
    assert [bar for _, bar in bars_of(taps)] == list(range(1, len(BARS) + 1))
    assert without_doubles(taps).tolist() == [k for k in range(len(taps)) if k != 8]


def test_every_second_bar_counts_two():
    assert [bar for _, bar in bars_of(BARS[::2], every=2)] == list(range(1, len(BARS) + 1, 2))


def test_a_placed_line_takes_the_place_of_the_tap_and_numbers_what_follows():
    pin = Pin(float(BARS[10]) + 0.004, 31)
    found = dict(bars_of(BARS[[*range(11), *range(12, 20)]], pins=[pin]))
    assert found[pin.time] == 31
    assert found[float(BARS[12])] == 33
    assert float(BARS[10]) not in found


def test_a_placed_line_that_is_counted_too_low_is_refused():
    with pytest.raises(PinError, match=r"Bar 1 at .* cannot be counted to from the first tap"):
        bars_of(BARS[:8], first=5, pins=[Pin(float(BARS[3]), 1)])
