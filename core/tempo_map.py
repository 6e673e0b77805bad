"""Score and clock, each from the other: the tempo map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from core.checks import Floats, ascending
from core.errors import InputError

Quarters = ArrayLike | Fraction | Sequence[Fraction]
"""Score positions: one or many, as floats or as exact fractions."""


@dataclass(frozen=True, slots=True, eq=False)
class TempoMap:
    """Constant tempo from knot to knot; before the first and after the last the end segment's tempo goes on.

    The map is continuous and strictly increasing, so that each direction is the inverse of the other. At a
    knot both directions give the knot's own numbers, to the last bit.

    Parameters
    ----------
    quarters : (n,) float
        Score position of each knot in quarters from bar line 1, strictly ascending.
    seconds : (n,) float
        Time of each knot in seconds, strictly ascending.

    Raises
    ------
    InputError
        If there are fewer than two knots, the two lists differ in length, or one is not strictly ascending.
    """

    quarters: Floats
    seconds: Floats

    def __post_init__(self) -> None:
        quarters = ascending(self.quarters, "The score positions of the tempo map")
        seconds = ascending(self.seconds, "The times of the tempo map")
        if len(quarters) != len(seconds):
            raise InputError(
                f"A tempo map needs as many times as score positions, not {len(seconds)} for {len(quarters)}."
            )
        if len(quarters) < 2:
            raise InputError("A tempo map needs at least two points; place or accept one more bar line.")
        object.__setattr__(self, "quarters", quarters)
        object.__setattr__(self, "seconds", seconds)

    @property
    def tempi(self) -> Floats:
        """Tempo of each segment in quarters a minute, shape (n - 1,)."""
        return 60.0 * np.diff(self.quarters) / np.diff(self.seconds)

    def seconds_at(self, quarters: Quarters) -> Floats:
        """Time in seconds of score positions in quarters, in the shape given; NaN stays NaN."""
        return _follow(self.quarters, self.seconds, quarters)

    def quarters_at(self, seconds: ArrayLike) -> Floats:
        """Score position in quarters of times in seconds, in the shape given; NaN stays NaN."""
        return _follow(self.seconds, self.quarters, seconds)

    def tempo_at(self, quarters: Quarters) -> Floats:
        """Tempo in quarters a minute at score positions; at a knot, that of the segment that starts there."""
        at = np.asarray(quarters, dtype=np.float64)
        segment = np.searchsorted(self.quarters, at, side="right") - 1
        return np.asarray(self.tempi[np.clip(segment, 0, len(self.quarters) - 2)])


def _follow(x: Floats, y: Floats, at: Quarters) -> Floats:
    """Evaluate the broken line through (x, y), its ends prolonged."""
    position = np.asarray(at, dtype=np.float64)
    # Counting from the knot before, the last one included, is what makes every knot exact.
    knot = np.clip(np.searchsorted(x, position, side="right") - 1, 0, len(x) - 1)
    slopes = np.diff(y) / np.diff(x)
    return np.asarray(y[knot] + (position - x[knot]) * slopes[np.minimum(knot, len(slopes) - 1)])
