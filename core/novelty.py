"""Where the music becomes another: bars that begin something unlike the bars before them.

The bars around each bar line are compared among themselves and with each other, by the checkerboard kernel of
Foote, "Automatic audio segmentation using a measure of audio novelty" (2000; from memory).
"""

from __future__ import annotations

import numpy as np

from core.checks import Floats
from core.grid import Grid
from core.onsets import Onsets

REACH = 8
"""Bars looked at on each side of a bar line."""

_FEWEST = 3
"""Bars there must be on each side for it to be judged."""

_SAMPLED = 250
"""Bars from which is told how far bars are from each other anyway, or a few more."""

_STEADY = 0.5
"""Share of the usual spread that a feature is taken to have at least: what hardly changes says nothing."""


def novelty(features: Floats) -> Floats:
    """How new each bar is against those before it, shape (bars,): 0 for no more than bars differ anyway.

    Parameters
    ----------
    features : (bars, n) float
        What each bar is like.
    """
    bars = len(features)
    some = features[:: max(1, bars // _SAMPLED)]
    usual = float(_apart(some).mean()) or 1.0
    new = np.zeros(bars)
    for bar in range(_FEWEST, bars - _FEWEST + 1):
        first, last = max(bar - REACH, 0), min(bar + REACH, bars)
        away = np.arange(first, last) - bar + 0.5
        near = np.exp(-0.5 * (away / (0.5 * REACH)) ** 2)
        weight = np.outer(near, near)
        np.fill_diagonal(weight, 0.0)
        across = np.not_equal.outer(away < 0, away < 0)
        square = _apart(features[first:last])
        between = np.average(square, weights=weight * across)
        within = np.average(square, weights=weight * ~across)
        new[bar] = (between - within) / usual
    return new


def _apart(features: Floats) -> Floats:
    """How far each bar is from each other one."""
    return np.asarray(np.linalg.norm(features[:, None] - features[None], axis=2))


def features_of(onsets: Onsets, grid: Grid) -> Floats:
    """What each bar of a grid is like: harmony, density, register, level and tempo; shape (bars, 17)."""
    lines = grid.bar_times
    inside = np.searchsorted(lines, onsets.time, side="right") - 1
    heard = (inside >= 0) & (inside < len(lines) - 1)
    bar, bars = inside[heard], len(lines) - 1
    count = np.bincount(bar, minlength=bars).astype(np.float64)

    def mean(values: Floats) -> Floats:
        sums = np.bincount(bar, weights=values[heard], minlength=bars)
        # A bar in which nothing begins is as the music usually is.
        return np.where(count > 0, sums / np.maximum(count, 1), np.median(values))

    chroma = np.stack([mean(onsets.chroma[:, pitch]) for pitch in range(12)], axis=1)
    single = [
        np.log1p(count / grid.bar_lengths),
        mean(np.log(onsets.count)),
        mean(onsets.low),
        mean(onsets.high),
        mean(onsets.strength),
        np.log(grid.bar_tempi),
        np.log(grid.bar_lengths),
    ]
    columns = [_even(values) for values in single]
    return np.column_stack([chroma * 4.0, *columns])


def _even(values: Floats) -> Floats:
    """Centre a feature, and let it weigh as much as the others."""
    spread = float(np.median(np.abs(values - np.median(values)))) * 1.4826
    spread = max(spread, _STEADY * float(values.std()), 1e-3)
    return np.clip((values - np.median(values)) / spread, -3.0, 3.0)
