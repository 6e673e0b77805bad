"""Several passes over the same lines: taken together where they agree, one of them where they do not."""

from __future__ import annotations

import numpy as np

from core.checks import Floats
from core.tap_snap import Snapped, Targets, snapped

APART = 2.5
"""Passes disagree about a line when their taps are further apart than so many spreads of their difference."""

DISAGREED = 0.25
"""Confidence in a line about which passes disagree."""


def together(taps: Floats, spread: Floats, targets: Targets) -> Snapped:
    """Where the lines lie that were tapped in one or more passes.

    Parameters
    ----------
    taps : (lines, passes) float
        Seconds, the bias of each pass removed; NaN where a pass has no tap. At least one a line.
    spread : (passes,) float
        Standard deviation of the taps of each pass in seconds.
    targets : Targets
        The onsets about each line.

    Returns
    -------
    Snapped
        Lines about which the passes disagree are where the better founded one puts them, and doubtful.
    """
    deviations = np.broadcast_to(spread, taps.shape)
    split = _apart(taps, spread)
    if not split.any():
        return snapped(taps, deviations, targets)
    value = np.full(taps.shape, -np.inf)
    for one in range(taps.shape[1]):
        tapped = ~np.isnan(taps[:, one])
        if tapped.any():
            alone = snapped(np.where(tapped, taps[:, one], 0.0)[:, None], deviations[:, one : one + 1], targets)
            value[tapped, one] = alone.value[tapped]
    only = np.arange(taps.shape[1]) == value.argmax(axis=1)[:, None]
    found = snapped(np.where(split[:, None] & ~only, np.nan, taps), deviations, targets)
    confidence = np.where(split, np.minimum(found.confidence, DISAGREED), found.confidence)
    return Snapped(found.time, found.onset, found.value, confidence)


def _apart(taps: Floats, spread: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    split = np.zeros(len(taps), dtype=np.bool_)
    for one in range(taps.shape[1]):
        for other in range(one):
            # Comparisons with NaN are false: where a pass has no tap it disagrees with nobody.
            split |= np.abs(taps[:, one] - taps[:, other]) > APART * np.hypot(spread[one], spread[other])
    return split
