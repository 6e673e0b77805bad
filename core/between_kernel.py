"""The inner loop of the search between two fixed moments, compiled; `core.between` says what it means."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.search_kernel import compiled

SHORTEST = 0.02
"""Seconds that two units are apart at least."""

LONG = 0.3
"""A pause lasts longer than it should by at least this, in logarithm."""


@compiled
def best_ways(
    time: Floats,
    begun: Floats,
    tempo: Floats,
    score: Floats,
    units: NDArray[np.int64],
    quarters: Floats,
    spread: Floats,
    follow: Floats,
    mean: float,
    huber: float,
    pause: float,
    pull: float,
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Score and tempo of the best way to each of some onsets, and which of the ways it goes on from.

    Parameters
    ----------
    time : (n,) float
        Of the onsets.
    begun, tempo, score, units, quarters, spread, follow : (m,) float
        Of each way so far: when it arrived, its tempo and score, the units and quarters from there, the spread of
        a step over them, and the share of a departure that the tempo follows.
    mean, huber, pause, pull : float
        Tempo of the whole stretch, and costs.
    """
    n, m = len(time), len(begun)
    value, arrived = np.full(n, -np.inf), np.zeros(n)
    source = np.zeros(n, np.int64)
    for i in range(n):
        for j in range(m):
            length = time[i] - begun[j]
            if length <= SHORTEST:
                continue
            off = np.log(length / quarters[j]) - tempo[j]
            size = abs(off) / spread[j]
            cost = 0.5 * size * size if size <= huber else huber * (size - 0.5 * huber)
            to = tempo[j] + follow[j] * off
            if off > LONG and cost > pause:
                # Units that last much longer than they should, after which the tempo is as before.
                cost, to = pause, tempo[j]
            away = pull * (to - mean)
            here = score[j] - cost - 0.5 * (away * away) * units[j]
            if here > value[i]:
                value[i], arrived[i], source[i] = here, to, j
    return value, arrived, source
