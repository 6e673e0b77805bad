"""A simulated musician who taps along: early or late by habit, unevenly, missing some taps and doubling others."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from tests.bench.corpus import Performance

BIAS = -0.060, 0.020
"""Bounds of the bias in seconds."""

MISSED, DOUBLED = 0.03, 0.01
"""Shares of the taps."""

AGAIN = 0.08, 0.20
"""A doubled tap comes so many seconds after the first."""


class Taps(NamedTuple):
    """Taps, and what they were.

    Parameters
    ----------
    times : (n,) float
        Seconds, ascending.
    first : int
        Index of the line that the first tap was meant for.
    bias : float
        Seconds.
    """

    times: Floats
    first: int
    bias: float


def tap_along(lines: Floats, spread: float, seed: int) -> Taps:
    """Tap some lines.

    Parameters
    ----------
    lines : (n,) float
        True times of all that is to be tapped, in seconds.
    spread : float
        Standard deviation of the taps about the bias, seconds.
    """
    random = np.random.default_rng(seed)
    bias = float(random.uniform(*BIAS))
    taps = lines + bias + random.normal(0.0, spread, len(lines))
    kept: NDArray[np.bool_] = random.random(len(lines)) >= MISSED
    kept[np.flatnonzero(lines + bias > 0)[0]] = True
    again = kept & (random.random(len(lines)) < DOUBLED)
    doubles = taps[again] + random.uniform(*AGAIN, int(again.sum()))
    times = np.unique(np.concatenate([taps[kept], doubles]))
    return Taps(times, int(np.argmax(kept)), bias)


def first_of(performance: Performance, time: float) -> tuple[int, int]:
    """Bar and beat of a true time."""
    bar = int(np.searchsorted(performance.bars, time, side="right"))
    beats = performance.beats
    beat = np.searchsorted(beats, time) - np.searchsorted(beats, performance.bars[bar - 1]) + 1
    return bar, int(beat)
