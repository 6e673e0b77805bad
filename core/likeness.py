"""How alike bars are: where their onsets fall, how many there are, and how their harmony goes.

Music says things again. A bar of the right length holds about as many onsets, at the same places, as the bars
before it, however freely it is played.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

Ints = NDArray[np.int64]

CELLS = 48
"""Places in a bar that are told apart."""

SPILL = 0.6
"""What an onset also counts in the cells beside its own: players are not exact."""

PARTS = 8
"""Parts of a bar whose harmonies are compared."""

EARLY = 0.02
"""An onset this much before a bar line belongs to the bar it opens, in seconds."""


def rhythms(time: Floats, begins: Floats, ends: Floats) -> tuple[Floats, Ints]:
    """Where the onsets fall in each bar.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    begins, ends : (bars,) float
        Seconds.

    Returns
    -------
    (bars, CELLS) float
        Onsets in each cell of a bar, each row of length 1, so that a product of rows says how alike they are.
    (bars,) int
        Onsets in each bar.
    """
    first, last = np.searchsorted(time, begins - EARLY), np.searchsorted(time, ends - EARLY)
    counts = last - first
    row = np.repeat(np.arange(len(counts)), counts)
    node = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts - first, counts)
    place = (time[node] - begins[row]) / (ends - begins)[row]
    cell = row * CELLS + np.rint(place * CELLS).astype(np.int64) % CELLS
    hits = np.bincount(cell, minlength=len(counts) * CELLS).reshape(len(counts), CELLS)
    # Around the bar: a cell before the first is the last one.
    around = np.concatenate([hits[:, -1:], hits, hits[:, :1]], axis=1)
    spread = hits + SPILL * (around[:, :-2] + around[:, 2:])
    return spread / (np.linalg.norm(spread, axis=1, keepdims=True) + 1e-9), counts


def harmonies(time: Floats, sums: Floats, begins: Floats, ends: Floats) -> Floats:
    """Harmony of each part of each bar, shape (bars, PARTS * 12), to be compared like `rhythms`.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    sums : (n + 1, 12) float
        Pitch classes of the onsets, summed up to each.
    """
    edges = begins[:, None] + (ends - begins)[:, None] * np.linspace(0, 1, PARTS + 1) - 1.5 * EARLY
    parts = np.diff(sums[np.searchsorted(time, edges)], axis=1)
    parts /= np.linalg.norm(parts, axis=2, keepdims=True) + 1e-9
    return np.asarray(parts.reshape(len(begins), -1) / np.sqrt(PARTS))
