"""A small network that weighs what speaks for each place of the next bar line.

All places are scored alike and compared with one another: a conditional logit (McFadden, "Conditional logit
analysis of qualitative choice behavior", 1974) with one hidden layer beside the direct weights.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

Floats32 = NDArray[np.float32]

FURTHEST = 5.0
"""A feature counts no more than so many spreads from its mean."""


@dataclass(frozen=True, slots=True, eq=False)
class Chooser:
    """The weights, as fitted.

    Parameters
    ----------
    mean, scale : (features,) float
        Of each feature over many places.
    direct : (features,) float
    entry : (features, hidden) float
    entry_bias, out : (hidden,) float
    """

    mean: Floats32
    scale: Floats32
    direct: Floats32
    entry: Floats32
    entry_bias: Floats32
    out: Floats32

    @classmethod
    def of(cls, arrays: Mapping[str, NDArray[np.float32]], prefix: str = "") -> Chooser:
        """Take the weights out of named arrays, as the fitting script names them."""
        return cls(*(np.asarray(arrays[prefix + name], dtype=np.float32) for name in cls.__slots__))

    def __call__(self, features: Floats) -> Floats:
        """Log probability of each place, shape (places,), from features of shape (places, features)."""
        x = np.clip((features.astype(np.float32) - self.mean) / self.scale, -FURTHEST, FURTHEST)
        inside = x @ self.entry + self.entry_bias
        inside = np.where(inside > 0, inside, np.expm1(np.minimum(inside, 0)))
        score = (x @ self.direct + inside @ self.out).astype(np.float64)
        score -= score.max()
        return np.asarray(score - np.log(np.exp(score).sum()))
