"""From taps and the bars on screen to what was meant by them."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

import numpy as np

from core.document import TapPass
from core.errors import InputError
from core.grid import Grid


def meant_by(times: Sequence[float], grid: Grid, *, every: int | None = None, bias: float = 0.0) -> TapPass:
    """Say what taps were meant for, by the bars on screen.

    Parameters
    ----------
    times : sequence of float
        Seconds, ascending, at least one.
    grid : Grid
        With two bar lines at least.
    every : int, optional
        What was asked for, as in `TapPass`; else it is guessed from how far apart the taps are.
    bias : float
        Seconds by which the taps are supposed late.

    Raises
    ------
    InputError
        If there are no taps, or fewer than two bar lines.
    """
    if not times:
        raise InputError("There are no taps: tap along while the take plays.")
    lines = grid.bar_lines
    if len(lines) < 2:
        raise InputError("There are no bars yet that taps could be counted by: place two bar lines first.")
    if every is None:
        every = guessed(times, grid)
    first = times[0] - bias
    if every == 0 and grid.beats[0].time <= first <= grid.beats[-1].time:
        beat = min(grid.beats, key=lambda beat: abs(beat.time - first))
        return TapPass(tuple(times), 0, beat.bar, beat.beat)
    nearest = min(lines, key=lambda line: abs(line.time - first))
    at = lines.index(nearest)
    a, b = (lines[at], lines[at + 1]) if at + 1 < len(lines) else (lines[at - 1], lines[at])
    return TapPass(tuple(times), every, nearest.bar + round((first - nearest.time) / (b.time - a.time)))


def guessed(times: Sequence[float], grid: Grid) -> int:
    """What was tapped, 0, 1 or 2 as in `TapPass.every`, by how far apart the taps are among the bars on screen."""
    if len(times) < 2:
        return 1
    moments, lines = np.array(times), grid.bar_times
    middle = 0.5 * (moments[1:] + moments[:-1])
    bar = np.clip(np.searchsorted(lines, middle, side="right") - 1, 0, len(lines) - 2)
    bars = float(np.median(np.log(np.diff(moments) / np.diff(lines)[bar])))
    beats = [grid.metre.at(grid.bar_lines[i].bar).beats for i in bar]
    usual = {0: -log(float(np.median(beats))), 1: 0.0, 2: log(2.0)}
    return min(usual, key=lambda every: (abs(usual[every] - bars), every != 1))
