"""A person and a machine measured: taps along with a click say how early or late somebody taps, and how evenly."""

from __future__ import annotations

import numpy as np

from core.checks import Floats, ascending
from core.errors import InputError
from core.tap_bias import LEAST, MOST, Habit

SETTLING = 4
"""Clicks at the start that nobody is held to."""

FEWEST = 20
"""Taps that are needed."""

NEAR = 0.25
"""A tap further than this many seconds from every click was meant for none."""

UNEVEN = 0.08
"""A spread beyond this many seconds says that somebody tapped something else than the click."""

DAY = 0.008
"""Seconds by which the bias of one pass strays from that of another, whoever taps."""

NORMAL = 0.6745
"""Median deviation of a normal distribution in standard deviations."""


def habit_from_clicks(clicks: Floats, taps: Floats) -> Habit:
    """Measure how somebody taps along with a click.

    Parameters
    ----------
    clicks : (n,) float
        When the clicks were heard, seconds, ascending.
    taps : (m,) float
        When they were tapped, seconds on the same clock, ascending.

    Returns
    -------
    Habit
        The median is the bias and the median deviation gives the spread, so that a few slips do no harm.

    Raises
    ------
    InputError
        If there are too few taps, or they do not go with the click.
    """
    clicks, taps = ascending(clicks, "The clicks")[SETTLING:], ascending(taps, "The taps", strictly=False)
    if not len(clicks):
        raise InputError(f"A calibration takes more than {SETTLING} clicks.")
    at = np.clip(np.searchsorted(clicks, taps), 1, max(len(clicks) - 1, 1))
    early, late = taps - clicks[at - 1], taps - clicks[np.minimum(at, len(clicks) - 1)]
    off = np.where(np.abs(early) <= np.abs(late), early, late)
    off = off[np.abs(off) <= NEAR]
    if len(off) < FEWEST:
        raise InputError(
            f"Only {len(off)} taps went with the click, and {FEWEST} are needed: tap once on every click."
        )
    bias = float(np.median(off))
    spread = float(np.median(np.abs(off - bias)) / NORMAL)
    if spread > UNEVEN:
        raise InputError(
            f"The taps scatter by {1000 * spread:.0f} ms about the click: tap once on every click, as evenly as "
            "you can."
        )
    spread = float(np.clip(spread, LEAST, MOST))
    # The standard error of a median is 1.25 standard deviations over the root of the count.
    return Habit(bias, spread, float(np.hypot(DAY, 1.25 * spread / np.sqrt(len(off)))))
