"""Whether placed lines can all be obeyed, and where in the score they lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from core.errors import PinError
from core.grid import Pin
from core.metre import Metre, positions

FASTEST = 0.02
"""A quarter cannot be shorter than this many seconds (3000 a minute)."""


def position_of(pin: Pin, metre: Metre) -> Fraction:
    """Score position of a numbered pin, in quarters from bar line 1."""
    assert pin.bar is not None
    return metre.quarter_of(pin.bar) + metre.at(pin.bar).beat_quarters[pin.beat - 1]


def checked(pins: Sequence[Pin], metre: Metre, duration: float) -> tuple[Pin, ...]:
    """Return the pins with the first one numbered, if all of them can be obeyed.

    Parameters
    ----------
    duration : float
        Length of the take in seconds.

    Raises
    ------
    PinError
        If a pin is outside the take or names a beat its bar has not, or if two contradict each other.
    """
    if pins and pins[0].bar is None:
        pins = (replace(pins[0], bar=1), *pins[1:])
    before: Pin | None = None
    numbered: tuple[Pin, float] | None = None
    bar_line = positions(metre)
    for pin in pins:
        _check_alone(pin, metre, duration)
        if before is not None and not pin.time > before.time:
            raise PinError(
                f"The placed line at {pin.time:.6f} s does not come after the one at {before.time:.6f} s: "
                "give them in order of time, each once."
            )
        if pin.bar is not None:
            position = bar_line(pin.bar)
            # Most pins are bar lines, and all of them are checked after every edit.
            if pin.beat != 1:
                position += float(metre.at(pin.bar).beat_quarters[pin.beat - 1])
            if numbered is not None:
                _check_count(numbered[0], pin, position - numbered[1])
            _check_pickup(pin, position, metre)
            numbered = pin, position
        before = pin
    return tuple(pins)


def _check_alone(pin: Pin, metre: Metre, duration: float) -> None:
    if not math.isfinite(pin.time):
        raise PinError(f"A placed line has no time ({pin.time}): give it in seconds.")
    if not 0 <= pin.time <= duration + 1e-6:
        raise PinError(
            f"The placed line at {pin.time:.6f} s lies outside the take, which lasts {duration:.3f} s: "
            "give times in seconds from the start of the take."
        )
    if pin.bar is None:
        if pin.beat != 1:
            raise PinError(f"The placed beat at {pin.time:.6f} s needs the number of its bar.")
    elif pin.beat != 1 and not 1 <= pin.beat <= metre.at(pin.bar).beats:
        raise PinError(
            f"Bar {pin.bar} is in {metre.at(pin.bar)} and has {metre.at(pin.bar).beats} beats: "
            f"there is no beat {pin.beat} to place at {pin.time:.6f} s."
        )


def _check_count(before: Pin, pin: Pin, quarters: float) -> None:
    if quarters > 0 and pin.time - before.time >= FASTEST * quarters:
        return
    here, there = _named(before), _named(pin)
    if quarters <= 0:
        raise PinError(
            f"{there[0].upper()}{there[1:]} at {pin.time:.6f} s comes after {here} at {before.time:.6f} s: "
            "correct the number of one of them."
        )
    raise PinError(
        f"There is no time for all that lies between {here} at {before.time:.6f} s and {there} at "
        f"{pin.time:.6f} s: correct the number of one of them."
    )


def _check_pickup(pin: Pin, position: float, metre: Metre) -> None:
    if metre.pickup and position < -metre.pickup:
        raise PinError(
            f"{_named(pin)} at {pin.time:.6f} s lies before the pickup of {metre.pickup} quarters begins: "
            "correct its number or the pickup."
        )


def _named(pin: Pin) -> str:
    return f"bar {pin.bar}" if pin.beat == 1 else f"beat {pin.beat} of bar {pin.bar}"
