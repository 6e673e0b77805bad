"""Which notes an onset struck: the spectrum after it against the spectrum before, judged by a small network.

The network sees each pitch the same way: what is there and what has risen at the pitch itself, at its
partials, and at the pitches it could itself be a partial of. Its weights were fitted on performances
rendered with several instruments, sampled and synthetic.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from core.checks import Floats
from core.spectrum import RATE, Float32, hann, magnitudes, semitones

LOWEST, HIGHEST = 21, 108
"""The range of the piano, which holds that of the guitar."""

_TOP_BAND = 124
_BELOW, _ABOVE = 36, 40
_FLOOR = 1e-3
_SIZES = (2048, 8192)
_WINDOWS = [hann(size) for size in _SIZES]
_BANDS = [semitones(size, LOWEST, _TOP_BAND) for size in _SIZES]
_BEFORE_ATTACK = 0.003

_HEIGHT = (np.arange(LOWEST, HIGHEST + 1) - 64.5) / 43.5
PLACE: Float32 = np.stack([_HEIGHT, _HEIGHT**2], axis=1).astype(np.float32)
"""Where in the range each pitch lies, as the network reads it."""


@cache
def _network() -> dict[str, Float32]:
    with np.load(Path(__file__).with_suffix(".npz")) as stored:
        return {name: stored[name] for name in stored.files}


def struck(samples: Float32, times: Floats) -> Floats:
    """Probability of each pitch to have been struck at each attack.

    Parameters
    ----------
    samples : (m,) float32
        The signal at `RATE`.
    times : (n,) float
        Attacks in seconds from the first sample.

    Returns
    -------
    (n, HIGHEST - LOWEST + 1) float
    """
    parts = [np.zeros((0, HIGHEST - LOWEST + 1))]
    parts += [judged(_network(), surroundings(samples, times[i : i + 128])) for i in range(0, len(times), 128)]
    return np.concatenate(parts)


def judged(network: dict[str, Float32], seen: Float32) -> Floats:
    """Run the network: one hidden layer, the same for every pitch but for where in the range it lies."""
    hidden = np.maximum(seen @ network["near"] + PLACE @ network["place"] + network["bias"], 0)
    evidence = (hidden @ network["out"] + network["out_bias"]).astype(np.float64)
    return np.asarray(1 / (1 + np.exp(-evidence)))


def surroundings(samples: Float32, times: Floats) -> Float32:
    """Collect what the network looks at.

    Parameters
    ----------
    samples : (m,) float32
        The signal at `RATE`.
    times : (n,) float
        Attacks in seconds from the first sample.

    Returns
    -------
    (n, HIGHEST - LOWEST + 1, features) float32
    """
    channels = []
    attack = np.round((times - _BEFORE_ATTACK) * RATE).astype(np.int64)
    for window, bands in zip(_WINDOWS, _BANDS, strict=True):
        after = magnitudes(samples, attack, window) @ bands
        before = magnitudes(samples, attack - len(window), window) @ bands
        loudest = after.max(axis=1, keepdims=True) + 1e-9
        now = np.log10(np.maximum(after / loudest, _FLOOR))
        past = np.log10(np.clip(before / loudest, _FLOOR, 1))
        channels += [1 + now / 3, now - past]
    # Beyond the bands there is nothing to see.
    stack = np.pad(np.stack(channels, axis=2), ((0, 0), (_BELOW, HIGHEST + _ABOVE - _TOP_BAND), (0, 0)))
    near = sliding_window_view(stack, _BELOW + _ABOVE + 1, axis=1)
    return near.reshape(len(times), HIGHEST - LOWEST + 1, -1).astype(np.float32, copy=False)
