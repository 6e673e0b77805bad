"""Short-time spectra in bands that follow pitch, computed straight from strided views of the samples.

Only the real FFT of scipy is used: it needs no compilation, so the first call is as quick as any other.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy.fft import rfft

Float32 = NDArray[np.float32]
Ints = NDArray[np.int64]

RATE = 22050
"""Samples a second at which audio is analysed; partials above 11 kHz say nothing about where notes start."""


def hann(size: int) -> Float32:
    """Periodic Hann window, scaled so that a sine of amplitude 1 peaks at a magnitude of 1."""
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size)
    return (window * 4 / size).astype(np.float32)


def magnitudes(samples: Float32, starts: Ints, window: Float32) -> Float32:
    """Magnitude spectra of windows that begin at given samples; outside the samples is silence.

    Parameters
    ----------
    samples : (m,) float32
        The signal.
    starts : (...) int
        Where each window begins, also before the first sample or near the last.
    window : (size,) float32
        Its length is the length of the transform.

    Returns
    -------
    (..., size // 2 + 1) float32
    """
    size = len(window)
    padded = np.concatenate([np.zeros(size, np.float32), samples, np.zeros(size, np.float32)])
    inside = np.clip(starts + size, 0, len(padded) - size)
    spectra = rfft(sliding_window_view(padded, size)[inside] * window)
    return np.asarray(np.abs(spectra), dtype=np.float32)


def triangles(size: int, *, per_octave: int, lowest: float, highest: float) -> Float32:
    """Overlapping triangular bands, evenly spaced in pitch, no narrower than the transform resolves.

    Parameters
    ----------
    size : int
        Length of the transform.
    per_octave : int
        Bands in an octave.
    lowest, highest : float
        Range of the centres in hertz.

    Returns
    -------
    (size // 2 + 1, bands) float32
    """
    steps = int(np.log2(highest / lowest) * per_octave) + 1
    centres = lowest * 2 ** (np.arange(steps) / per_octave)
    bins = np.unique(np.round(centres * size / RATE).astype(np.int64))
    bins = bins[bins < size // 2]
    weights = np.zeros((size // 2 + 1, len(bins) - 2), np.float32)
    for band, (left, top, right) in enumerate(zip(bins, bins[1:], bins[2:], strict=False)):
        weights[left : top + 1, band] = np.linspace(0, 1, top - left + 1)
        weights[top : right + 1, band] = np.linspace(1, 0, right - top + 1)
    return weights


def semitones(size: int, lowest: int, highest: int) -> Float32:
    """Triangular bands around the notes of the equal-tempered scale (A4 = 440 Hz, ISO 16).

    Where a semitone is narrower than the transform resolves, bands take what their centre sees.

    Parameters
    ----------
    size : int
        Length of the transform.
    lowest, highest : int
        MIDI note numbers of the first and the last band.

    Returns
    -------
    (size // 2 + 1, highest - lowest + 1) float32
    """
    hertz = np.arange(size // 2 + 1) * RATE / size
    centre = 440 * 2 ** ((np.arange(lowest, highest + 1) - 69) / 12)
    width = np.maximum(centre * (2 ** (1 / 12) - 1), RATE / size)
    return np.maximum(0, 1 - np.abs(hertz[:, None] - centre) / width).astype(np.float32)
