"""Where each tapped line lies: on the onset that evidence and taps together speak for, or on the taps alone."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

NOTHING = -2.5
"""What it gains to leave a line where it was tapped, off every onset."""

REACH = 0.30
"""Onsets further than this many seconds from every tap are no targets."""

ALIKE = 0.035
"""Onsets nearer than this many seconds to a line would leave it as right as it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Targets:
    """Pairs of a tapped line and an onset near it.

    Parameters
    ----------
    tap : (pairs,) int
        Index of the line, ascending.
    onset : (pairs,) int
        Index of the onset.
    time, gain : (pairs,) float
        Time of the onset in seconds; what the evidence gives for the line to lie there.
    """

    tap: NDArray[np.int64]
    onset: NDArray[np.int64]
    time: Floats
    gain: Floats

    @classmethod
    def near(cls, lines: Floats, time: Floats, gains: list[Floats]) -> Targets:
        """The onsets about each line; `gains` has for each line what every onset gains."""
        begin = np.searchsorted(time, lines - REACH)
        end = np.searchsorted(time, lines + REACH)
        tap = np.repeat(np.arange(len(lines)), end - begin)
        onset = np.concatenate([np.arange(a, b) for a, b in zip(begin, end, strict=True)] or [np.zeros(0)])
        onset = onset.astype(np.int64)
        gain = np.array([gains[i][k] for i, k in zip(tap, onset, strict=True)], dtype=np.float64)
        return cls(tap.astype(np.int64), onset, time[onset], gain)


@dataclass(frozen=True, slots=True, eq=False)
class Snapped:
    """Lines with the onsets taken for them.

    Parameters
    ----------
    time : (n,) float
        Seconds.
    onset : (n,) int
        The onset, -1 for none.
    value : (n,) float
        Gain of the onset, or of none, less what its distance from the taps costs.
    confidence : (n,) float
        0 to 1, how much speaks for this place among all that were possible.
    """

    time: Floats
    onset: NDArray[np.int64]
    value: Floats
    confidence: Floats


def snapped(taps: Floats, spread: Floats, targets: Targets) -> Snapped:
    """Take an onset, or none, for each line.

    Parameters
    ----------
    taps : (n, passes) float
        Times tapped for each line in seconds, bias removed; NaN where a pass has none.
    spread : (n, passes) float
        Standard deviation of each.
    """
    weight = np.where(np.isnan(taps), 0.0, spread**-2.0)
    mean = np.nansum(np.nan_to_num(taps) * weight, axis=1) / weight.sum(axis=1)
    width = weight.sum(axis=1) ** -0.5
    value = targets.gain - 0.5 * ((targets.time - mean[targets.tap]) / width[targets.tap]) ** 2
    time, onset = mean.copy(), np.full(len(mean), -1, dtype=np.int64)
    highest, sure = np.zeros(len(mean)), np.ones(len(mean))
    bounds = np.searchsorted(targets.tap, np.arange(len(mean) + 1))
    for i, (a, b) in enumerate(pairwise(bounds.tolist())):
        places = np.append(targets.time[a:b], mean[i])
        values = np.append(value[a:b], NOTHING)
        best = int(np.argmax(values))
        if best < b - a:
            time[i], onset[i] = places[best], targets.onset[a + best]
        highest[i] = values[best]
        share = np.exp(values - values[best])
        sure[i] = share[np.abs(places - places[best]) <= ALIKE].sum() / share.sum()
    return Snapped(time, onset, highest, sure)
