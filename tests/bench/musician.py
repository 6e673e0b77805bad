"""The simulated musician: how many gestures until every bar line is right.

The metre is given. The musician places the first two bar lines exactly, the tool suggests the rest. Then, from
left to right, the first bar line that is wrong (no suggestion within the tolerance of the true place, or an extra
one before it) is pinned with one gesture at its true time, snapped to the nearest chord within 50 ms, its bar
number known. The tool suggests again from all pins, until all bar lines are right. A musician who may step to
alternatives tries those of a wrong bar line first, at a third of a gesture for each key press.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.grid import Beat, Pin

SNAP = 0.050
"""A gesture lands on the nearest chord when that is this near, in seconds."""

PRESSES = 3
"""The most alternatives a musician steps through before pinning."""

PRESS = 1 / 3
"""What a key press costs, in gestures."""

Suggest = Callable[[tuple[Pin, ...]], Sequence[Beat]]
"""A tool: from the pins in order of time to all bar lines in order of time."""


class PinMovedError(AssertionError):
    """A tool did not keep a bar line that the musician had placed."""


@dataclass(frozen=True, slots=True)
class Work:
    """What it took to get every bar line right.

    Parameters
    ----------
    bars : int
        True bar lines.
    pins : tuple of Pin
        In order of time, the two to start from included.
    stepped : int
        How many of them were reached by stepping to an alternative instead of a gesture.
    presses : int
        Key presses that led to an alternative that was right.
    vain : int
        Key presses a musician makes who cannot see beforehand that no alternative is right.
    """

    bars: int
    pins: tuple[Pin, ...]
    stepped: int = 0
    presses: int = 0
    vain: int = 0

    @property
    def gestures(self) -> float:
        """Gestures, a key press that helped being a third of one."""
        return len(self.pins) - self.stepped + PRESS * self.presses

    @property
    def effort(self) -> float:
        """Gestures per 100 bars."""
        return 100 * self.gestures / self.bars

    @property
    def blind_effort(self) -> float:
        """The same for a musician who tries the alternatives without seeing them: presses in vain count too."""
        return 100 * (self.gestures + PRESS * self.vain) / self.bars


def place(time: float, chords: Floats) -> float:
    """Where a gesture at a true time lands: on the nearest chord within 50 ms, else exactly there."""
    if len(chords) == 0:
        return time
    nearest = float(chords[np.argmin(np.abs(chords - time))])
    return nearest if abs(nearest - time) <= SNAP else time


def correct(bars: Floats, chords: Floats, suggest: Suggest, *, tolerance: float, stepping: bool = False) -> Work:
    """Work with a tool until every bar line is right.

    Parameters
    ----------
    bars : (n,) float
        True bar lines in seconds; the first is bar 1.
    chords : (m,) float
        Onsets of the take in seconds, which gestures snap to.
    suggest : Suggest
        The tool.
    tolerance : float
        A suggestion this near to the true place is right, in seconds.
    stepping : bool
        Whether the musician tries alternatives before pinning.

    Raises
    ------
    PinMovedError
        If the tool does not keep a pin, or puts a bar line between two that follow one another.
    """
    pins = {0: Pin(float(bars[0]), 1), 1: Pin(float(bars[1]), 2)}
    stepped = presses = vain = 0
    while True:
        placed = tuple(pins[k] for k in sorted(pins))
        lines = suggest(placed)
        wrong = first_wrong(bars, lines, placed, tolerance=tolerance)
        if wrong is None:
            return Work(len(bars), placed, stepped, presses, vain)
        if wrong in pins:
            raise PinMovedError(f"There is an extra bar line before bar {wrong + 1}, which was placed.")
        tried = _alternatives(lines, wrong + 1) if stepping else ()
        right = next((i for i, time in enumerate(tried, 1) if abs(time - bars[wrong]) <= tolerance), None)
        if right is None:
            vain += len(tried)
            pins[wrong] = Pin(place(float(bars[wrong]), chords), wrong + 1)
        else:
            stepped, presses = stepped + 1, presses + right
            pins[wrong] = Pin(tried[right - 1], wrong + 1)


def first_wrong(bars: Floats, lines: Sequence[Beat], pins: Sequence[Pin], *, tolerance: float) -> int | None:
    """Index of the first true bar line without its suggestion, or None when all are right.

    Bar lines are compared in order of time from the first pin on, so an extra one makes the next true one
    wrong. What is suggested before the first pin or after the last true bar line does not count. A pin is
    right by definition, also where the snap took it further than a small tolerance.

    Raises
    ------
    PinMovedError
        If a pin is not among the bar lines with its time and number.
    """
    suggested = {(line.time, line.bar) for line in lines}
    for pin in pins:
        if (pin.time, pin.bar) not in suggested:
            raise PinMovedError(f"The tool did not keep bar {pin.bar} at {pin.time:.6f} s.")
    placed = {(pin.time, pin.bar) for pin in pins}
    heard = [line for line in lines if line.time >= pins[0].time]
    for k, true in enumerate(bars):
        if k >= len(heard):
            return k
        if (heard[k].time, k + 1) not in placed and abs(heard[k].time - true) > tolerance:
            return k
    return None


def _alternatives(lines: Sequence[Beat], bar: int) -> tuple[float, ...]:
    return next((line.alternatives[:PRESSES] for line in lines if line.bar == bar), ())


def between_pins(bars: Floats, chords: Floats, suggest: Suggest, *, every: int, tolerance: float) -> float:
    """Share of the bar lines between pins that are right when every so many are pinned and the count is known.

    NaN where the take is too short to have any.
    """
    at = range(0, len(bars), every)
    pins = tuple(Pin(place(float(bars[k]), chords), k + 1) for k in at)
    time_of = {line.bar: line.time for line in suggest(pins)}
    inner = [k for k in range(at[-1]) if k % every]
    right = [abs(time_of[k + 1] - bars[k]) <= tolerance for k in inner]
    return float(np.mean(right)) if right else float("nan")
