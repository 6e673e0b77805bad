"""How players bend time, from published formulas.

References
----------
A. Friberg, J. Sundberg: "Does music performance allude to locomotion? A model of final ritardandi derived from
measurements of stopping runners", Journal of the Acoustical Society of America 105, 1999.

A. Friberg, R. Bresin, J. Sundberg: "Overview of the KTH rule system for musical performance", Advances in
Cognitive Psychology 2, 2006.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

MOTOR_NOISE = 0.0068
"""Standard deviation of the motor noise of an onset at k = 1, in seconds (Friberg, Bresin, Sundberg 2006)."""


def ritardando_tempo(x: ArrayLike, *, q: float, w: float) -> Floats:
    """Tempo of a final ritardando, as a share of the tempo before it.

    Parameters
    ----------
    x : array_like
        Score position within the ritardando, 0 to 1.
    q : float
        Curvature; 2 is a constant braking force, 3 a constant braking power.
    w : float
        Share of the tempo that is left at the end.
    """
    return np.asarray((1 + (w**q - 1) * np.asarray(x, dtype=np.float64)) ** (1 / q))


def ritardando_time(x: ArrayLike, *, q: float, w: float) -> Floats:
    """Time since a final ritardando began; 1 is the time all of it would take without slowing down.

    The integral of 1 / `ritardando_tempo`; parameters as there.
    """
    braking = w**q - 1
    power = (q - 1) / q
    return np.asarray(((1 + braking * np.asarray(x, dtype=np.float64)) ** power - 1) / (power * braking))


def phrase_arch(count: int, *, k: float = 1.0, turn: float = 0.5) -> Floats:
    """Factor on each duration of a phrase: slow, quicker towards the turn, slow again at the end.

    Parameters
    ----------
    count : int
        Notes (or pulses) of the phrase, at least 2.
    k : float
        Quantity of the rule.
    turn : float
        Where the phrase turns, as a share of its length, between 0 and 1.

    Returns
    -------
    (count,) float
        1 + 0.1 k (1 - x)^2 up to the turn and 1 + 0.2 k x^2 after it, x being the way done in each part.
    """
    position = np.arange(count) / (count - 1)
    rise = np.clip(position / turn, 0, 1)
    fall = np.clip((position - turn) / (1 - turn), 0, 1)
    return np.asarray(1 + k * (0.1 * (rise - 1) ** 2 + 0.2 * fall**2))
