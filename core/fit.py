"""A tempo map for a grid: a knot at every bar line, at chosen beats, or only where one is needed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Literal

import numpy as np

from core.checks import Floats, frozen
from core.errors import InputError
from core.fewest_knots import Windows, fewest_knots
from core.grid import Beat, Grid
from core.metre import positions
from core.settle_knots import settle_knots
from core.tempo_map import TempoMap

RESOLUTION = 1e-9
"""Seconds: a bar line on the map to within this is hit. It keeps the search clear of floating-point rounding."""

_LEAST_SECONDS_PER_QUARTER = 60 / 1000
"""No map goes faster than 1000 quarters a minute unless the grid itself does."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A tempo map, and how far it is from the grid it was made for.

    Parameters
    ----------
    tempo_map : TempoMap
        Quarter 0 is bar line 1, second 0 the start of the take.
    bar_errors : (bars,) float
        Map minus grid at each bar line, seconds.
    """

    tempo_map: TempoMap
    bar_errors: Floats


def fit_bars(grid: Grid) -> Fit:
    """Put a knot at every bar line.

    Beats that the musician placed inside a bar are knots too, for nothing moves them; and so is the first beat of
    a pickup, for its tempo is its own.

    Raises
    ------
    InputError
        If the grid has fewer than two of these.
    """
    return fit_beats(grid, ())


def fit_beats(grid: Grid, beats: Literal["all"] | Collection[tuple[int, int]]) -> Fit:
    """Put knots at chosen beats, beside those of `fit_bars`.

    Parameters
    ----------
    grid : Grid
        Bar lines and beats.
    beats : "all" or collection of (int, int)
        Bar and beat numbers, the beat from 1.

    Raises
    ------
    InputError
        If the grid does not hold a chosen beat, or has fewer than two beats to go by.
    """
    if beats == "all":
        chosen = list(grid.beats)
    else:
        wanted = set(beats)
        for bar, beat in sorted(wanted - {(beat.bar, beat.beat) for beat in grid.beats}):
            raise InputError(f"Bar {bar} beat {beat} is not in the grid; choose a beat that is.")
        kept = set(_kept(grid))
        chosen = [beat for beat in grid.beats if beat in kept or (beat.bar, beat.beat) in wanted]
    return _fit(grid, chosen, [beat.time for beat in chosen])


def fit_fewest(grid: Grid, tolerance: float) -> Fit:
    """Find the fewest knots that keep every bar line within a tolerance.

    No map with its knots on the beats that `fit_bars` uses has fewer. A knot's time is free within the tolerance,
    save that a bar line or beat the musician placed is always hit, whatever the tolerance (to `RESOLUTION`, and
    to the last bit where it is a knot). Where many maps have the fewest knots, this one is chosen to be close to
    the bar lines, not at the edge of the tolerance. A pickup's first beat is kept like a bar line.

    Parameters
    ----------
    grid : Grid
        Bar lines and beats.
    tolerance : float
        Seconds, 0 or more, kept to `RESOLUTION`; 0 leaves out only knots at which the tempo does not change.

    Raises
    ------
    InputError
        If the tolerance is negative or not a number, or the grid has fewer than two bar lines to go by.
    """
    if not (isfinite(tolerance) and tolerance >= 0):
        raise InputError(f"A tolerance of {tolerance} s cannot be kept; give 0 or more, say 0.01 for 10 ms.")
    kept = _kept(grid)
    if len(kept) < 2:
        return _fit(grid, kept, [beat.time for beat in kept])
    at, target = _quarters(grid, kept), np.array([beat.time for beat in kept])
    exact = RESOLUTION / 4  # the rest is for rounding in the search, and for a placed neighbour put right
    slack = np.array([exact if beat.placed else max(tolerance, exact) for beat in kept])
    # Half the fastest bar's own, so that the targets themselves are never at the limit.
    slope = min(_LEAST_SECONDS_PER_QUARTER, float(np.min(np.diff(target) / np.diff(at))) / 2)
    windows = Windows(at, target, target - slack, target + slack, slope)
    knots, values = fewest_knots(windows)
    values = settle_knots(windows, knots, values)
    beats = [kept[knot] for knot in knots]
    times = [beat.time if beat.placed else float(value) for beat, value in zip(beats, values, strict=True)]
    return _fit(grid, beats, times)


def _kept(grid: Grid) -> list[Beat]:
    """Beats every map has to keep: bar lines, what was placed inside a bar, and the start of a pickup."""
    return [beat for i, beat in enumerate(grid.beats) if i == 0 or beat.beat == 1 or beat.placed]


def _quarters(grid: Grid, beats: Sequence[Beat]) -> Floats:
    """Score positions of beats in quarters."""
    line_at, metre = positions(grid.metre), grid.metre
    inside = (float(metre.at(beat.bar).beat_quarters[beat.beat - 1]) if beat.beat > 1 else 0.0 for beat in beats)
    return np.array([line_at(beat.bar) + more for beat, more in zip(beats, inside, strict=True)], dtype=np.float64)


def _fit(grid: Grid, beats: Sequence[Beat], times: Sequence[float]) -> Fit:
    """Make the map through the beats at the times, and compare it with the grid."""
    tempo_map = TempoMap(_quarters(grid, beats), np.array(times, dtype=np.float64))
    lines = grid.bar_lines
    return Fit(tempo_map, frozen(tempo_map.seconds_at(_quarters(grid, lines)) - grid.bar_times))
