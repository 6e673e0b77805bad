"""The simulated musician against tools whose misses are known, counted by hand."""

import math

import numpy as np
import pytest

from core.grid import Beat, Pin
from tests.bench.musician import PinMovedError, between_pins, correct, place
from tests.bench.rules import even_division, last_bar_again, onto

BARS = np.arange(10) * 2.0
NO_CHORDS = np.zeros(0)


def always(*lines):
    """A tool that says the same whatever is pinned, except that a pin takes the place of the line of its bar."""

    def suggest(pins):
        by_bar = {line.bar: line for line in lines} | {
            pin.bar: Beat(pin.time, pin.bar, 1, placed=True) for pin in pins
        }
        return sorted(by_bar.values(), key=lambda line: line.time)

    return suggest


def lines(times):
    return [Beat(float(time), bar, 1) for bar, time in enumerate(times, 1)]


def test_a_perfect_tool_needs_the_two_gestures_of_the_start():
    work = correct(BARS, NO_CHORDS, always(*lines(BARS)), tolerance=0.05)
    assert work.gestures == 2
    assert work.effort == pytest.approx(20)


def test_each_bar_line_that_stays_wrong_costs_one_gesture():
    times = BARS.copy()
    times[[3, 7]] += 0.2
    work = correct(BARS, NO_CHORDS, always(*lines(times)), tolerance=0.05)
    assert [pin.bar for pin in work.pins] == [1, 2, 4, 8]
    assert work.effort == pytest.approx(40)


def test_the_tolerance_is_the_border():
    times = BARS.copy()
    times[4] += 0.06
    gestures = [correct(BARS, NO_CHORDS, always(*lines(times)), tolerance=t).gestures for t in (0.05, 0.07)]
    assert gestures == [3, 2]


def test_a_gesture_carries_over_to_what_the_tool_suggests_next():
    # Bars of 2 s, then of 3 s from bar 5 on: the old length is wrong once, at bar 6, and right again after it.
    bars = np.concatenate([np.arange(5) * 2.0, 8 + 3.0 * np.arange(1, 6)])
    work = correct(bars, NO_CHORDS, last_bar_again(30), tolerance=0.05)
    assert [pin.bar for pin in work.pins] == [1, 2, 6]


def test_an_extra_line_makes_the_next_true_one_wrong_and_one_gesture_settles_it():
    def suggest(pins):
        extra = [] if any(pin.bar == 5 for pin in pins) else [7.0]
        times = sorted({*BARS.tolist(), *extra})
        return lines(times)

    work = correct(BARS, NO_CHORDS, suggest, tolerance=0.05)
    assert [pin.bar for pin in work.pins] == [1, 2, 5]


def test_a_missing_line_is_found_where_it_is_missing():
    def suggest(pins):
        return lines(BARS if len(pins) > 2 else np.delete(BARS, 6))

    work = correct(BARS, NO_CHORDS, suggest, tolerance=0.05)
    assert [pin.bar for pin in work.pins] == [1, 2, 7]


def test_suggestions_that_stop_too_soon_are_wrong_and_those_past_the_truth_do_not_count():
    short = correct(BARS, NO_CHORDS, always(*lines(BARS[:8])), tolerance=0.05)
    long = correct(BARS, NO_CHORDS, always(*lines(np.arange(15) * 2.0)), tolerance=0.05)
    before = correct(BARS + 3, NO_CHORDS, always(Beat(1.0, 0, 1), *lines(BARS + 3)), tolerance=0.05)
    assert (short.gestures, long.gestures, before.gestures) == (4, 2, 2)


def test_a_later_pin_that_breaks_an_earlier_bar_line_is_paid_for():
    times = BARS.copy()
    times[6] += 0.5

    def suggest(pins):
        moved = times.copy()
        if any(pin.bar == 7 for pin in pins):
            moved[3] += 0.5
        return always(*lines(moved))(pins)

    work = correct(BARS, NO_CHORDS, suggest, tolerance=0.05)
    assert [pin.bar for pin in work.pins] == [1, 2, 4, 7]


def test_a_gesture_lands_on_the_nearest_chord_within_50_ms():
    chords = np.array([1.96, 2.03, 2.2])
    assert place(2.0, chords) == 2.03
    assert place(2.1, chords) == 2.1
    assert place(2.1, NO_CHORDS) == 2.1


def test_a_pin_is_right_also_where_the_snap_went_past_a_small_tolerance():
    times = BARS.copy()
    times[3] += 0.2
    work = correct(BARS, BARS + 0.04, always(*lines(times)), tolerance=0.03)
    assert work.pins == (Pin(0.0, 1), Pin(2.0, 2), Pin(6.04, 4))


@pytest.mark.parametrize(
    ("alternatives", "gestures", "blind"),
    [
        ((6.01,), 2 + 1 / 3, 2 + 1 / 3),
        ((5.0, 6.01), 2 + 2 / 3, 2 + 2 / 3),
        ((5.0, 5.5, 7.0, 6.01), 3, 4),
        ((5.0,), 3, 3 + 1 / 3),
        ((), 3, 3),
    ],
)
def test_stepping_costs_a_third_a_key_press_and_three_at_most(alternatives, gestures, blind):
    said = lines(BARS)
    said[3] = Beat(6.5, 4, 1, alternatives=alternatives)
    work = correct(BARS, NO_CHORDS, always(*said), tolerance=0.05, stepping=True)
    assert work.gestures == pytest.approx(gestures)
    assert work.blind_effort == pytest.approx(100 * blind / 10)
    assert work.pins[2] == Pin(6.01 if gestures < 3 else 6.0, 4)


def test_a_tool_that_moves_a_pin_is_caught():
    with pytest.raises(PinMovedError, match="bar 2"):
        correct(BARS, NO_CHORDS, lambda pins: lines(np.delete(BARS, 1)), tolerance=0.05)


def test_the_snapped_rule_follows_a_slow_change_that_loses_the_plain_rule():
    # Each bar 4 % longer than the one before: 80 ms and more wrong every time, but a chord is there.
    bars = np.concatenate([[0.0], np.cumsum(2 * 1.04 ** np.arange(9))])
    plain = correct(bars, bars, last_bar_again(30), tolerance=0.05)
    snapped = correct(bars, bars, last_bar_again(30, onto(bars)), tolerance=0.05)
    assert (plain.gestures, snapped.gestures) == (10, 2)


def test_a_rule_never_snaps_back_to_the_line_before_it():
    assert onto(np.array([1.0, 9.0]))(1.5, 1.0) == 9.0
    assert onto(np.array([1.0]))(1.5, 1.0) == 1.5


def test_between_pins_the_inner_bar_lines_are_counted_alone():
    # Pins on bars 1, 5 and 9; bar 3 is off, so five of the six between are right; bar 10 is past the last pin.
    bars = BARS.copy()
    bars[2] += 0.2
    assert between_pins(bars, NO_CHORDS, even_division(), every=4, tolerance=0.05) == pytest.approx(5 / 6)
    assert math.isnan(between_pins(bars[:3], NO_CHORDS, even_division(), every=4, tolerance=0.05))
