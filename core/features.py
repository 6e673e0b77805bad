"""Each onset described by numbers the network reads: rhythm, accent, bass, harmony, pedal.

Rhythm is given as logarithms of durations, pitch and level as differences from their surroundings, so that
the same music faster, louder or in another key gives nearly the same numbers. Where a bar length is known
or supposed, `supposed` adds the same durations counted in beats and what sounds a beat and a bar away.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from core.checks import Floats
from core.metre import TimeSignature
from core.onsets import Onsets

_SHORTEST, _LONGEST = 0.02, 6.0


def heard(onsets: Onsets) -> Floats:
    """Features of the onsets alone.

    Returns
    -------
    (n, HEARD) float
        One row an onset.
    """
    time, low, high, strength = onsets.time, onsets.low, onsets.high, onsets.strength
    n = len(time)
    if n == 0:
        return np.zeros((0, HEARD))
    gap = np.concatenate([[1.0], np.diff(time), [1.0]])
    before, after = _log(gap[:-1]), _log(gap[1:])
    length = _log(onsets.length)
    density = np.searchsorted(time, time + 2.0) - np.searchsorted(time, time - 2.0)
    columns = [
        before,
        after,
        after - before,
        length,
        length - after,
        (strength - _local_median(strength, 6)) / 10,
        _step(strength, 1) / 10,
        -_step(strength, -1) / 10,
        np.log(np.maximum(onsets.count, 1.0)),
        (low - _local_median(low, 8)) / 12,
        (low - 60) / 24,
        _step(low, 1) / 12,
        -_step(low, -1) / 12,
        (low - _window_min(low, time, 1.0)) / 12,
        (low - _window_min(low, time, 2.0)) / 12,
        (high - _local_median(high, 8)) / 12,
        _step(high, 1) / 12,
        -_step(high, -1) / 12,
        *(_novelty(onsets, span) for span in (0.5, 1.0, 2.0, 4.0)),
        np.exp(-onsets.pedal_lift / 0.15),
        np.exp(-onsets.pedal_down / 0.3),
        np.log(density) - 2,
    ]
    return np.stack(columns, axis=1)


HEARD = 25
"""Number of features `heard` gives."""

SUPPOSED = 6 + 5 * 6 + 5
"""Number of features `supposed` gives."""


def supposed(onsets: Onsets, bar: Floats, signature: TimeSignature) -> Floats:
    """Features of the onsets under a supposed bar length, to be put beside those of `heard`.

    Parameters
    ----------
    bar : (n,) float
        Supposed length of a bar around each onset in seconds.

    Returns
    -------
    (n, SUPPOSED) float
        All zero would say that nothing is supposed.
    """
    time = onsets.time
    n = len(time)
    if n == 0:
        return np.zeros((0, SUPPOSED))
    beats = signature.beats
    beat = bar / beats
    gap = np.concatenate([[1.0], np.diff(time), [1.0]])
    log_beat = np.log(beat)
    columns: list[NDArray[np.float64]] = [
        np.ones(n),
        np.log(bar) - 0.7,
        log_beat + 0.7,
        np.log(np.clip(gap[:-1], _SHORTEST, _LONGEST)) - log_beat,
        np.log(np.clip(gap[1:], _SHORTEST, _LONGEST)) - log_beat,
        np.log(np.clip(onsets.length, _SHORTEST, _LONGEST)) - log_beat,
    ]
    for lag in (-beat, beat, -bar, bar, -2 * bar, 2 * bar):
        columns += _elsewhere(onsets, lag, beat)
    kind = np.zeros(5)
    kind[min(beats, 5) - 1 if beats != 1 else 4] = 1.0
    kind[0] = float(signature.compound)
    columns += [np.full(n, value) for value in kind]
    return np.stack(columns, axis=1)


def _elsewhere(onsets: Onsets, lag: Floats, beat: Floats) -> list[Floats]:
    time = onsets.time
    target = time + lag
    right = np.clip(np.searchsorted(time, target), 1, max(len(time) - 1, 1))
    left = right - 1
    if len(time) == 1:
        right = left = np.zeros(1, dtype=np.int64)
    near = np.where(np.abs(time[right] - target) < np.abs(time[left] - target), right, left)
    off = (time[near] - target) / beat
    close = np.exp(-((off / 0.12) ** 2))
    likeness = np.sum(onsets.chroma * onsets.chroma[near], axis=1) / (
        np.linalg.norm(onsets.chroma, axis=1) * np.linalg.norm(onsets.chroma[near], axis=1) + 1e-9
    )
    return [
        close,
        np.clip(off, -0.5, 0.5),
        close * (onsets.low - onsets.low[near]) / 12,
        close * (onsets.strength - onsets.strength[near]) / 10,
        close * likeness,
    ]


def _log(seconds: Floats) -> Floats:
    return np.asarray(np.log(np.clip(seconds, _SHORTEST, _LONGEST)) + 1.4)


def _step(values: Floats, back: int) -> Floats:
    """Difference to the value `back` places earlier (negative: what the later one differs from this)."""
    out = np.zeros(len(values))
    if back > 0:
        out[back:] = values[back:] - values[:-back]
    else:
        out[:back] = values[-back:] - values[:back]
    return out


def _local_median(values: Floats, reach: int) -> Floats:
    padded = np.pad(values, reach, mode="edge")
    return np.asarray(np.median(sliding_window_view(padded, 2 * reach + 1), axis=1))


def _window_min(values: Floats, time: Floats, reach: float) -> Floats:
    start = np.searchsorted(time, time - reach)
    stop = np.searchsorted(time, time + reach)
    # minimum.reduceat over interleaved (start, stop) pairs: every second result is the one asked for
    padded = np.append(values, np.inf)
    pairs = np.stack([start, stop], axis=1).ravel()
    return np.asarray(np.minimum.reduceat(padded, pairs)[::2])


def _novelty(onsets: Onsets, span: float) -> Floats:
    """How much the harmony after an onset differs from the harmony before, 0 to 1."""
    time = onsets.time
    total = np.vstack([np.zeros(12), np.cumsum(onsets.chroma, axis=0)])
    here = np.arange(len(time))
    after = total[np.searchsorted(time, time + span)] - total[here]
    before = total[here] - total[np.searchsorted(time, time - span)]
    size = np.linalg.norm(after, axis=1) * np.linalg.norm(before, axis=1)
    return np.asarray(1 - np.sum(after * before, axis=1) / np.maximum(size, 1e-9))
