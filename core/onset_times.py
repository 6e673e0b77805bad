"""Where notes start in a stretch of audio, first to the frame, then to a millisecond or so.

The coarse search is band-wise spectral flux with a maximum filter over neighbouring bands, which keeps
vibrato and beating strings from counting as onsets: S. Böck and G. Widmer, "Maximum filter vibrato
suppression for onset detection", DAFx 2013. The fine search looks at short windows around each.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, uniform_filter1d

from core.checks import Floats
from core.spectrum import RATE, Float32, Ints, hann, magnitudes, triangles

HOP = 128
"""Samples from frame to frame of the coarse search (5.8 ms)."""

_FRAMES = 2048
_WINDOW = hann(1024)
_BANDS = triangles(1024, per_octave=24, lowest=30.0, highest=10000.0)
_LAG = 4
_COMPRESS = 125.0

_THRESHOLD = 0.008
_APART = 0.030
_AROUND = 0.060

_FINE_HOP = 32
_FINE_WINDOW = hann(256)
_FINE_BANDS = triangles(256, per_octave=6, lowest=60.0, highest=9000.0)
_FINE_LAG = 6
_FINE_REACH = 68
_FINE_COMPRESS = 37.0
_FINE_HALF = 20

EARLY = 0.0022
"""Seconds by which the fine search is early on the typical instrument; added.

A window hears an attack before its middle does. With this, sudden attacks (clicks, plucked strings) are heard
3 to 5 ms before they happen and those of sampled pianos 1 ms after the key's MIDI time."""


def novelty(samples: Float32, level: float) -> Float32:
    """How much the spectrum rises at each frame.

    Parameters
    ----------
    samples : (m,) float32
        The signal at `RATE`; frame k is centred on sample k times `HOP`.
    level : float
        What counts as loud in this take, as amplitude; sets what the logarithm compresses.

    Returns
    -------
    (m // HOP,) float32
    """
    starts = np.arange(len(samples) // HOP) * HOP - len(_WINDOW) // 2
    rise = np.zeros(len(starts), np.float32)
    carried = np.zeros((_LAG, _BANDS.shape[1]), np.float32)
    for first in range(0, len(starts), _FRAMES):
        part = magnitudes(samples, starts[first : first + _FRAMES], _WINDOW) @ _BANDS
        now = np.concatenate([carried, np.log10(1 + _COMPRESS / level * part)])
        before = maximum_filter1d(now[:-_LAG], 3, axis=1)
        rise[first : first + len(part)] = np.maximum(now[_LAG:] - before, 0).mean(axis=1)
        carried = now[-_LAG:]
    rise[:_LAG] = 0
    return rise


def peaks(rise: Float32) -> tuple[Ints, Float32]:
    """Find the frames at which the novelty is the highest nearby, and by how much it stands out there.

    Returns
    -------
    frames : (n,) int
        Ascending, at least 30 ms apart.
    height : (n,) float32
        Novelty less its mean over 60 ms to either side.
    """
    per_second = RATE / HOP
    highest = maximum_filter1d(rise, 2 * int(_APART * per_second) + 1)
    height = rise - uniform_filter1d(rise, 2 * int(_AROUND * per_second) + 1)
    found = np.flatnonzero((rise == highest) & (height > _THRESHOLD))
    # Two frames that are exactly as high are one onset.
    found = found[np.diff(found, prepend=-len(rise)) > _APART * per_second]
    return found, height[found]


def attacks(samples: Float32, frames: Ints, level: float) -> Floats:
    """Search for attacks around coarse frames; give their times in seconds from the first sample.

    A time lies half way between where the rise begins and its centre of gravity: the beginning differs
    least between instruments, the centre least between a chord's notes and its mean.
    """
    half = len(_FINE_WINDOW) // 2
    offsets = np.arange(-_FINE_REACH - _FINE_LAG, _FINE_REACH + 1) * _FINE_HOP
    middle = ((offsets[_FINE_LAG:] + offsets[:-_FINE_LAG]) / 2).astype(np.float64)
    times = [np.zeros(0)]
    for first in range(0, len(frames), 256):
        centre = frames[first : first + 256, None] * HOP
        part = magnitudes(samples, centre + offsets - half, _FINE_WINDOW) @ _FINE_BANDS
        log = np.log10(1 + _FINE_COMPRESS / level * part)
        rise = np.maximum(log[:, _FINE_LAG:] - log[:, :-_FINE_LAG], 0).mean(axis=2)
        times.append((centre[:, 0] + _attack(rise.astype(np.float64), middle)) / RATE + EARLY)
    return np.concatenate(times)


def _attack(rise: Floats, offsets: Floats) -> Floats:
    rows, columns = np.arange(len(rise)), np.arange(rise.shape[1])
    # The nearer of two attacks in reach is the one that was meant.
    top = np.argmax(rise * np.exp(-0.5 * (offsets / (0.02 * RATE)) ** 2), axis=1)
    weight = np.where(np.abs(columns - top[:, None]) <= _FINE_HALF, rise, 0) ** 2
    centre = weight @ offsets / np.maximum(weight.sum(axis=1), 1e-30)
    begin = 0.3 * rise[rows, top]
    low: NDArray[np.bool_] = (rise <= begin[:, None]) & (columns < top[:, None])
    low[:, 0] = True
    last = np.minimum(rise.shape[1] - 1 - np.argmax(low[:, ::-1], axis=1), rise.shape[1] - 2)
    step = np.maximum(rise[rows, last + 1] - rise[rows, last], 1e-30)
    start = offsets[last] + np.clip((begin - rise[rows, last]) / step, 0, 1) * _FINE_HOP
    return np.asarray((start + centre) / 2)
