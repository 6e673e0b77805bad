"""One validator per kind of array; callers run it first and may then trust what they hold."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.errors import InputError

Floats = NDArray[np.float64]


def frozen(values: ArrayLike) -> Floats:
    """Return a read-only float64 copy."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def finite(values: ArrayLike, what: str) -> Floats:
    """Return a read-only one-dimensional float array, refusing NaN and infinity.

    Raises
    ------
    InputError
        If the values are not one-dimensional or not all finite.
    """
    array = frozen(values)
    if array.ndim != 1:
        raise InputError(f"{what} must be a plain list of numbers, not {array.ndim}-dimensional.")
    bad = ~np.isfinite(array)
    if bad.any():
        raise InputError(f"{what} holds a value that is not a number at position {int(np.argmax(bad)) + 1}.")
    return array


def ascending(values: ArrayLike, what: str, *, strictly: bool = True) -> Floats:
    """Return read-only times in ascending order, naming the first place that breaks it.

    Raises
    ------
    InputError
        If a time is not finite, repeated (when `strictly`) or out of order.
    """
    array = finite(values, what)
    steps = np.diff(array)
    wrong = steps <= 0 if strictly else steps < 0
    if wrong.any():
        i = int(np.argmax(wrong))
        problem = "repeats" if steps[i] == 0 else "goes back"
        raise InputError(
            f"{what} {problem} at position {i + 2} ({array[i]:.6f} s, then {array[i + 1]:.6f} s); "
            "give the times in order, each once."
        )
    return array
