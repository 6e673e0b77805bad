"""How early or late a pass was tapped, and how evenly: found from the onsets that the taps were meant for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.tap_snap import NOTHING, Targets, snapped

EARLIEST, LATEST, STEP = -0.120, 0.080, 0.004
"""Seconds between which the bias is looked for, and how finely."""

WIDE = 0.035
"""Spread in seconds that the taps are supposed to have while the bias is looked for."""

LEAST, MOST = 0.012, 0.060
"""Bounds of the spread in seconds."""

FEW = 6
"""With fewer taps on onsets the bias stays as looked for and the spread as expected."""


@dataclass(frozen=True, slots=True)
class Habit:
    """How somebody taps.

    Parameters
    ----------
    bias : float
        Seconds by which the taps come late; early is negative.
    spread : float
        Standard deviation of the taps about the bias, seconds.
    sure : float
        How far the bias of a pass strays from this one, seconds.
    """

    # Musicians tap 10 to 30 ms early (Repp 2005, from memory); strangers to the machine stray widely.
    bias: float = -0.02
    spread: float = 0.03
    sure: float = 0.03

    def at(self, speed: float) -> Habit:
        """What it is in seconds of a take that is played so many times as fast."""
        return Habit(self.bias * speed, self.spread * speed, self.sure * speed)


def habit_of(taps: Floats, targets: Targets, expected: Habit) -> Habit:
    """Bias and spread of a pass.

    Parameters
    ----------
    taps : (n,) float
        Times of the taps in seconds.
    targets : Targets
        The onsets about each of them.
    expected : Habit
        What is known of the one who taps; it alone holds where nothing was heard.
    """
    bias, spread = _likeliest(taps, targets, expected), expected.spread
    for _ in range(3):
        found = snapped(taps[:, None] - bias, np.full((len(taps), 1), spread), targets)
        off = (taps - found.time)[found.onset >= 0]
        if len(off) < FEW:
            break
        bias = float(np.median(off))
        # The median deviation of a normal distribution is 0.6745 of its standard deviation.
        spread = float(np.clip(np.median(np.abs(off - bias)) / 0.6745, LEAST, MOST))
    return Habit(bias, spread, expected.sure)


def _likeliest(taps: Floats, targets: Targets, expected: Habit) -> float:
    biases = np.arange(EARLIEST, LATEST + STEP / 2, STEP)
    prior = -0.5 * ((biases - expected.bias) / expected.sure) ** 2
    if not len(targets.time):
        return float(biases[np.argmax(prior)])
    off = taps[targets.tap] - targets.time
    value = targets.gain[:, None] - 0.5 * ((off[:, None] - biases) / WIDE) ** 2
    total = np.full((len(taps), len(biases)), np.exp(NOTHING))
    np.add.at(total, targets.tap, np.exp(np.minimum(value, 50.0)))
    return float(biases[np.argmax(np.log(total).sum(axis=0) + prior)])
