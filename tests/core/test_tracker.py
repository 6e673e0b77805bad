"""The tracker: pins are law, counts are kept, answers depend on the pins alone."""

from __future__ import annotations

import csv
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.errors import PinError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.propose import propose
from core.read_take import read_take
from core.tracker import Tracker

EXAMPLES = Path(__file__).parents[2] / "examples"
FOUR = TimeSignature(4, 4)
LOW_TIDE = Metre(((1, FOUR), (72, TimeSignature(3, 4)), (144, FOUR)), Fraction(1))


def onsets_of(name: str) -> Onsets:
    return find_onsets(read_take(EXAMPLES / name))


def true_bars(name: str) -> np.ndarray:
    with (EXAMPLES / f"{name}.bars.csv").open(encoding="utf-8", newline="") as file:
        return np.array([float(row["time_s"]) for row in csv.DictReader(file)])


def clicks(times: np.ndarray, duration: float) -> Onsets:
    """Onsets that all look alike: only their times say anything."""
    n = len(times)
    same = np.zeros(n)
    return Onsets(
        source="midi",
        duration=duration,
        time=times,
        strength=same,
        count=same + 1,
        low=same + 60,
        high=same + 60,
        length=same + 0.2,
        chroma=np.full((n, 12), 1 / 12),
        pedal_lift=same + np.inf,
        pedal_down=same + np.inf,
    )


@pytest.fixture(scope="module")
def ferry() -> Tracker:
    return Tracker(onsets_of("night-ferry.mid"), Metre.steady(TimeSignature(6, 8), Fraction(1, 2)))


def test_every_bar_line_of_the_long_example_from_its_few_pins():
    """The truth is composed with the take, from published timing rules (see ``examples/timing.py``)."""
    with (EXAMPLES / "low-tide.pins.csv").open(encoding="utf-8", newline="") as file:
        pins = [Pin(float(row["time_s"]), int(row["bar"])) for row in csv.DictReader(file)]
    assert len(pins) <= 8
    grid = Tracker(onsets_of("low-tide.mid"), LOW_TIDE).grid(pins)
    truth = true_bars("low-tide")
    assert [line.bar for line in grid.bar_lines][: len(truth)] == list(range(1, len(truth) + 1))
    assert np.abs(grid.bar_times[: len(truth)] - truth).max() < 0.010


@pytest.mark.parametrize(
    ("name", "take", "metre"),
    [
        ("night-ferry", "night-ferry.mid", Metre.steady(TimeSignature(6, 8), Fraction(1, 2))),
        ("net-mending", "net-mending.mid", Metre.steady(TimeSignature(3, 4))),
        ("net-mending", "net-mending.ogg", Metre.steady(TimeSignature(3, 4))),
    ],
)
def test_the_short_examples_follow_from_their_first_two_bar_lines(name, take, metre):
    truth = true_bars(name)
    grid = Tracker(onsets_of(take), metre).grid([Pin(truth[0], 1), Pin(truth[1], 2)])
    lines = {line.bar: line.time for line in grid.bar_lines}
    worst = max(abs(lines[bar] - time) for bar, time in enumerate(truth, 1))
    assert worst < (0.010 if take.endswith("mid") else 0.030)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_placed_line_is_never_moved_and_the_count_is_kept(ferry, data):
    bars = sorted(data.draw(st.sets(st.integers(-1, 16), min_size=1, max_size=6)))
    bars = [bar for bar in bars if bar >= 1] or [1]
    gaps = data.draw(st.lists(st.floats(0.4, 4.0), min_size=len(bars), max_size=len(bars)))
    times, time, before = [], data.draw(st.floats(0.0, 3.0)), bars[0]
    for bar, gap in zip(bars, gaps, strict=True):
        time += gap * max(bar - before, 1) * 0.6
        times.append(min(time, 43.0 + 0.01 * bar))
        before = bar
    pins = [Pin(t, bar) for t, bar in zip(times, bars, strict=True)]
    if any(b.time - a.time < 0.1 for a, b in pairwise(pins)):
        return
    grid = ferry.grid(pins)
    lines = {line.bar: line for line in grid.bar_lines}
    assert all(lines[pin.bar].time == pin.time and lines[pin.bar].placed for pin in pins)
    assert np.all(np.diff(grid.beat_times) > 0)
    assert sum(beat.placed for beat in grid.beats) == len(pins)
    assert all(0 <= beat.confidence <= 1 for beat in grid.beats)
    assert grid.beats[0].time >= 0


def test_the_answer_depends_on_the_pins_alone():
    truth = true_bars("night-ferry")
    two = [Pin(truth[0], 1), Pin(truth[1], 2)]
    more = [*two, Pin(truth[6] + 0.3, 7)]
    metre = Metre.steady(TimeSignature(6, 8), Fraction(1, 2))
    used = Tracker(onsets_of("night-ferry.mid"), metre)
    used.grid(more)
    used.grid([])
    assert used.grid(two) == Tracker(onsets_of("night-ferry.mid"), metre).grid(two)


def test_a_beat_inside_a_bar_can_be_placed(ferry):
    truth = true_bars("night-ferry")
    moved = (truth[3] + truth[4]) / 2 + 0.05
    grid = ferry.grid([Pin(truth[0], 1), Pin(moved, 4, 2)])
    (beat,) = [beat for beat in grid.beats if (beat.bar, beat.beat) == (4, 2)]
    assert (beat.time, beat.placed) == (moved, True)


def test_a_placed_line_without_a_number_gets_the_count_that_fits():
    truth = true_bars("night-ferry")
    metre = Metre.steady(TimeSignature(6, 8), Fraction(1, 2))
    grid = Tracker(onsets_of("night-ferry.mid"), metre).grid([Pin(truth[0]), Pin(truth[1]), Pin(truth[9])])
    assert [beat.bar for beat in grid.beats if beat.placed] == [1, 2, 10]


def test_unequal_beats_keep_their_proportions():
    """2+2+3 eighths: beats at 0, 2/7 and 4/7 of the bar (theory of additive metre)."""
    times = np.arange(0, 140) * 0.25
    grid = Tracker(clicks(times, 35.0), Metre.steady(TimeSignature.parse("2+2+3/8"))).grid(
        [Pin(1.75 * (bar - 1), bar) for bar in range(1, 8)]
    )
    bar = [beat.time for beat in grid.beats if beat.bar == 5]
    assert np.allclose(np.array(bar) - bar[0], [0.0, 0.5, 1.0], atol=1e-6)


def test_bars_go_on_through_a_rest_and_where_nothing_sounds():
    times = np.concatenate([np.arange(0, 8, 0.5), np.arange(16, 24, 0.5)])
    pins = [Pin(0.0, 1), Pin(2.0, 2), Pin(16.0, 9)]
    lines = Tracker(clicks(times, 24.5), Metre.steady(FOUR)).grid(pins).bar_lines
    assert [line.bar for line in lines][:9] == list(range(1, 10))
    assert np.all(np.diff([line.time for line in lines]) > 0.2)


def test_alternatives_are_ranked_places_other_than_the_line_itself(ferry):
    truth = true_bars("night-ferry")
    lines = ferry.grid([Pin(truth[0], 1), Pin(truth[1], 2)]).bar_lines
    suggested = [line for line in lines if not line.placed]
    assert any(line.alternatives for line in suggested)
    assert all(abs(place - line.time) > 0.05 for line in suggested for place in line.alternatives)


@pytest.mark.parametrize(
    ("pins", "words"),
    [
        ([Pin(5.0, 2), Pin(3.0, 3)], "does not come after"),
        ([Pin(3.0, 2), Pin(5.0, 2)], "bar 2"),
        ([Pin(3.0, 5), Pin(5.0, 4)], "comes after"),
        ([Pin(-1.0, 1)], "outside the take"),
        ([Pin(1e6, 1)], "outside the take"),
        ([Pin(float("nan"), 1)], "no time"),
        ([Pin(3.0, 1), Pin(3.1, 400)], "no time for all"),
        ([Pin(3.0, 1, 3)], "there is no beat 3"),
        ([Pin(3.0, -4)], "pickup"),
    ],
)
def test_pins_that_cannot_be_obeyed_are_refused_in_a_sentence(ferry, pins, words):
    with pytest.raises(PinError, match=words):
        ferry.grid(pins)


def test_two_onsets_are_enough_with_a_pin():
    assert Tracker(clicks(np.array([1.0, 2.0]), 3.0), Metre.steady(FOUR)).grid([Pin(1.0, 1)]).bar_lines


def test_an_even_pulse_is_heard_without_help():
    grid = propose(clicks(np.arange(0, 60, 0.5) + 0.3, 61.0)).grid
    steps = np.diff(grid.beat_times)
    assert np.median(np.abs(steps / np.median(steps) - 1)) < 0.02
