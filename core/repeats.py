"""Stretches of bars that are heard again elsewhere in a take.

Every bar is asked which other bar it is like, under one rule: who says one thing again goes on saying it, so the
distance in bars stays the same until something else begins. Paths along the diagonals of a self-similarity matrix
are how repetition is found in music (Foote 1999; Goto 2006, who calls them segments of the time-lag plane; from
memory); here all of them compete at once, by the algorithm of Viterbi (1967).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

Ints = NDArray[np.int64]

NEAREST = 8
"""Bars: what comes again sooner is a figure or a phrase, and no section."""

FARTHEST = 1000
"""Bars: what comes again later is not looked for; memory grows with it times the bars of the take."""

CHANGE = 1.2
"""What it costs to begin another stretch, in bars that are wholly alike."""


def repeats(alike: Floats, usual: float) -> Ints:
    """How far away each bar is heard again, shape (bars,), in bars, later or (negative) before; 0 where it is not.

    Parameters
    ----------
    alike : (bars, bars) float
        How alike bars are, 1 for the same.
    usual : float
        How alike bars are that are no repetition, 0 to 1, at most.
    """
    bars = len(alike)
    far = np.arange(NEAREST, min(bars, FARTHEST + 1))
    lags = np.concatenate([-far[::-1], [0], far])
    came = np.empty((bars, len(lags)), dtype=np.int16)
    stay, best = np.arange(len(lags)), np.zeros(len(lags))
    for bar in range(bars):
        top = int(np.argmax(best))
        changes = best < best[top] - CHANGE
        came[bar] = np.where(changes, top, stay)
        there = bar + lags
        inside = (there >= 0) & (there < bars)
        gain = np.where(inside, alike[bar, np.clip(there, 0, bars - 1)] - usual, -np.inf)
        gain[lags == 0] = 0.0
        best = np.where(changes, best[top] - CHANGE, best) + gain
    way = np.empty(bars, dtype=np.int64)
    at = int(np.argmax(best))
    for bar in range(bars - 1, -1, -1):
        way[bar] = at
        at = int(came[bar, at]) if bar else at
    return np.asarray(lags[way])
