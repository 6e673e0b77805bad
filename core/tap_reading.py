"""From the taps of a document to the lines they would place, and from taps and grid to what was meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

import numpy as np

from core.document import Document, TapPass
from core.errors import InputError
from core.grid import Grid
from core.network import Network
from core.onsets import Onsets
from core.tap_bias import Habit
from core.tap_edits import NONE_OPEN, replaceable
from core.taps import Pass, Tapped, read_taps

SAME = 1e-6
"""A line this many seconds from where it is placed already is not worth placing again."""


def read_document(
    document: Document, onsets: Onsets, *, habit: Habit | None = None, networks: Sequence[Network] | None = None
) -> Tapped:
    """Read the lines that a document's open taps would place.

    Passes over the same stretch that were dealt with before are read with them. Lines that stand where they are
    placed already are left out, and so are beats that cannot be placed: in held bars and in bars with no pulse.

    Parameters
    ----------
    onsets : Onsets
        What was heard in the take.
    habit : Habit, optional
        How the musician was found to tap.
    networks : sequence of Network, optional
        Instead of those that come with the library.

    Raises
    ------
    InputError
        If no taps are open.
    PinError
        If a placed line cannot be counted to from the first tap.
    """
    waiting = [one for one in document.taps if one.open]
    if not waiting:
        raise InputError(NONE_OPEN)
    passes = [one for one in document.taps if one.open or any(_over(one, other) for other in waiting)]
    again = replaceable(document)
    fixed = [pin for pin in document.pins if pin.time not in again]
    read = read_taps(
        [_pass(one) for one in passes], onsets, document.metre, pins=fixed, habit=habit, networks=networks
    )
    standing = {(pin.bar, pin.beat): pin.time for pin in document.pins}
    evenly = {*document.holds, *document.free}
    new = [
        line
        for line in read.lines
        if abs(line.time - standing.get((line.bar, line.beat), -1.0)) > SAME
        and (line.beat == 1 or line.bar not in evenly)
        and 0 <= line.time <= onsets.duration
    ]
    return replace(read, lines=tuple(new))


def _over(one: TapPass, other: TapPass) -> bool:
    return one.times[0] <= other.times[-1] and other.times[0] <= one.times[-1]


def _pass(taps: TapPass) -> Pass:
    return Pass(np.array(taps.times), taps.every or "beat", taps.bar, taps.beat, taps.speed)


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
