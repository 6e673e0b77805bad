"""A scale for tempi with round numbers that a few bars held long do not squeeze."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.checks import Floats

LEAST_SPREAD = 0.2
"""Share of the usual tempo that a scale spans at least, so that steady playing looks steady."""


@dataclass(frozen=True, slots=True)
class TempoScale:
    """From one tempo, at the bottom, to another, at the top, with marks between them."""

    low: float
    high: float
    marks: tuple[float, ...]

    def y_of(self, tempo: float, top: float, bottom: float) -> float:
        """Pixel of a tempo between those of the two ends; what lies beyond is kept at the end."""
        share = (tempo - self.low) / (self.high - self.low)
        return bottom - min(max(share, 0.0), 1.0) * (bottom - top)

    def beyond(self, tempo: float) -> int:
        """Minus one below the scale, one above it, else 0."""
        return -1 if tempo < self.low else 1 if tempo > self.high else 0


def scale_for(tempi: Floats, *, most_marks: int = 4) -> TempoScale:
    """Choose a scale that holds nearly all tempi.

    A tempo is left outside only if it is further from the middle half of all than one and a half times that half
    is wide: Tukey's fence (Exploratory Data Analysis, 1977).

    Parameters
    ----------
    tempi : (n,) float
        At least one, all above 0.
    most_marks : int
        Marks there is room for.
    """
    quarter, middle, three = np.percentile(tempi, (25, 50, 75))
    fence = max(1.5 * (three - quarter), 0.1 * middle)
    inside = tempi[(tempi >= quarter - fence) & (tempi <= three + fence)]
    low, high = float(inside.min()), float(inside.max())
    spread = max((high - low) * 1.1, LEAST_SPREAD * float(middle))
    centre = 0.5 * (low + high)
    low, high = max(centre - spread / 2, 0.0), centre + spread / 2
    step = _round_step((high - low) / max(most_marks, 1))
    # Rounded outward, so that the scale moves only now and then while bars are being put right.
    fine = _round_step((high - low) / 10)
    low, high = fine * math.floor(low / fine), fine * math.ceil(high / fine)
    while not (marks := _multiples(step, low, high)):
        step = _round_step(step / 2.5)
    return TempoScale(low, high, marks)


def _multiples(step: float, low: float, high: float) -> tuple[float, ...]:
    return tuple(step * i for i in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1))


def _round_step(least: float) -> float:
    """Find the smallest of 1, 2, 5, 10, 20, ... (and their tenths) that is no smaller."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * (1 - 1e-9))
