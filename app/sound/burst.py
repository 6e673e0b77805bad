"""The sound of a click: a short burst that begins at its very first sample."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from app.sound.clicks import BAR, BEAT, PART

LENGTH = 0.05
"""Seconds a burst lasts."""

_RISE, _FALL = 0.0005, 0.009
"""Seconds of its rise, and in which it falls to a third."""

_PITCH = {BAR: 1.5, BEAT: 1.0, PART: 0.75}
"""A bar line is a fifth above the beat, a part of a beat a fourth below it."""

_LEVEL = {BAR: 1.0, BEAT: 0.7, PART: 0.4}


@lru_cache(maxsize=32)
def burst(kind: int, pitch: float, rate: int) -> NDArray[np.float32]:
    """Samples of a click; the loudest kind has a peak of 1.

    Parameters
    ----------
    kind : int
        `BAR`, `BEAT` or `PART`.
    pitch : float
        Hertz of a beat.
    rate : int
        Frames a second.
    """
    time = np.arange(round(LENGTH * rate)) / rate
    rise = np.minimum(time / _RISE, 1.0)
    # Down to nothing at its end, so that it ends without a click of its own.
    fall = np.exp(-time / _FALL) - np.exp(-LENGTH / _FALL)
    wave = np.cos(2 * np.pi * min(pitch * _PITCH[kind], 0.4 * rate) * time) * rise * fall
    made = np.asarray(_LEVEL[kind] * wave / np.abs(wave).max(), dtype=np.float32)
    made.setflags(write=False)
    return made
