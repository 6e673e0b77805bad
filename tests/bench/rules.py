"""Plain rules that a tracker is measured against, as tools for the simulated musician."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from core.checks import Floats
from core.grid import Beat, Pin
from tests.bench.musician import Suggest

Snap = Callable[[float, float], float]
"""From a time, and the bar line before it, to where the bar line goes."""


def as_it_is(time: float, before: float) -> float:
    """Leave a bar line where the rule puts it."""
    return time


def onto(chords: Floats) -> Snap:
    """Move a bar line to the nearest chord after the one before it, however far that is."""

    def snap(time: float, before: float) -> float:
        start = int(np.searchsorted(chords, before, side="right"))
        at = int(np.searchsorted(chords, time))
        near = [float(chords[i]) for i in (at - 1, at) if start <= i < len(chords)]
        return min(near, key=lambda chord: abs(chord - time), default=time)

    return snap


def last_bar_again(duration: float, snap: Snap = as_it_is) -> Suggest:
    """The rule "every bar is as long as the one before it", to the end of the take.

    Bar lines that were right stay, so between pins the rule says again what it had said.
    """

    def suggest(pins: tuple[Pin, ...]) -> list[Beat]:
        placed = {pin.bar: pin.time for pin in pins}
        last = max(bar for bar in placed if bar is not None)
        times = [placed[1], placed[2]]
        while len(times) < last or times[-1] < duration:
            known = placed.get(len(times) + 1)
            times.append(snap(2 * times[-1] - times[-2], times[-1]) if known is None else known)
        return [Beat(time, bar, 1) for bar, time in enumerate(times, 1)]

    return suggest


def even_division(snap: Snap = as_it_is) -> Suggest:
    """The rule "bars between two pins are equally long"."""

    def suggest(pins: tuple[Pin, ...]) -> list[Beat]:
        times = [pins[0].time]
        for a, b in pairwise(pins):
            assert a.bar is not None
            assert b.bar is not None
            inner = np.linspace(a.time, b.time, b.bar - a.bar + 1)[1:-1].tolist()
            times += [snap(time, a.time) for time in inner] + [b.time]
        assert pins[0].bar is not None
        return [Beat(time, bar, 1) for bar, time in enumerate(times, pins[0].bar)]

    return suggest
