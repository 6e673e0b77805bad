"""The inner loops of the search, compiled when they are first run and kept on disk by numba.

Plain numbers and arrays only; `core.search` says what they mean. All sums and comparisons are made in the same
order each time, so the same input gives the same table.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, ParamSpec, TypeVar

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats32 = NDArray[np.float32]
Floats64 = NDArray[np.float64]
Told = ParamSpec("Told")
Made = TypeVar("Made")


def compiled(function: Callable[Told, Made]) -> Callable[Told, Made]:
    """Compile a function when it is first called, and keep the code on disk where there is a place to write."""
    try:
        made: Callable[Told, Made] = njit(cache=True, nogil=True)(function)
    except RuntimeError:
        # Neither beside the module nor in the user's own folder: compiled anew by every process.
        made = njit(nogil=True)(function)
    return made


class Rules(NamedTuple):
    """What a step may be and what it costs; see `core.search.Steps`.

    Parameters
    ----------
    units : int
        Of the bar.
    longest : int
        Most units in a step.
    tempi : (bins,) float64
        Log seconds of a quarter of each tempo told apart.
    seconds : (bins,) float64
        Seconds of a unit at each.
    bin : float
        Distance of the tempi.
    log_unit : float
        Log quarters of a unit.
    sigma, follow : (longest + 1,) float64
        Spread of a step over so many units, and the share of its departure that the tempo follows.
    huber, pause : float
        Costs.
    skip : (units, longest + 1) float32
        Cost of the units passed by steps from each unit.
    inner : (24,) float64
        Gain of an onset inside a unit by its place.
    shortest, farthest : float
        Seconds of the shortest and the longest unit.
    pull : (bins,) float32
        Cost of each tempo.
    """

    units: int
    longest: int
    tempi: Floats64
    seconds: Floats64
    bin: float
    log_unit: float
    sigma: Floats64
    follow: Floats64
    huber: float
    pause: float
    skip: Floats32
    inner: Floats64
    shortest: float
    farthest: float
    pull: Floats32


@compiled
def _silent(rules: Rules, time: Floats64, start: float, node: int, land: int, units: int, tempo: int) -> bool:
    """Whether a silence is long enough, at a tempo, to be a pause over so many units."""
    seconds = units * rules.seconds[tempo]
    return bool(time[node + 1] - start > 0.8 * seconds and time[land] - start > 1.35 * seconds)


@compiled
def _longest_rest(rules: Rules, time: Floats64, start: float, node: int) -> int:
    """Most units of a pause past an onset; 0 where there is no silence long enough at any tempo."""
    ends = min(node + 3, len(time))
    if ends <= node + 1 or not _silent(rules, time, start, node, ends - 1, 1, 0):
        return 0
    return int(min((time[node + 1] - start) / (0.8 * rules.seconds[0]), float(rules.longest)))


@compiled
def options(
    rules: Rules, time: Floats64, start: float, node: int
) -> tuple[NDArray[np.int32], NDArray[np.int8], int]:
    """Onset and units of each step on from a moment past an onset; how many of them are no pauses.

    A pause has negative units.
    """
    first = np.zeros(rules.longest + 1, np.int64)
    last = np.zeros(rules.longest + 1, np.int64)
    for units in range(1, rules.longest + 1):
        first[units] = max(int(np.searchsorted(time, start + rules.shortest * units)), node + 1)
        last[units] = max(int(np.searchsorted(time, start + rules.farthest * units)), int(first[units]))
    most, ends = _longest_rest(rules, time, start, node), min(node + 3, len(time))
    plain = int((last - first).sum())
    lands = np.empty(plain + most * (ends - node - 1), np.int32)
    taken = np.empty(len(lands), np.int8)
    at = 0
    for units in range(1, rules.longest + 1):
        for land in range(first[units], last[units]):
            lands[at], taken[at] = land, units
            at += 1
    for land in range(node + 1, ends):
        for units in range(1, most + 1):
            lands[at], taken[at] = land, -units
            at += 1
    return lands, taken, plain


@compiled
def _inside(rules: Rules, time: Floats64, start: float, node: int, land: int, units: int) -> float:
    """How well the onsets inside a step fall where players put notes within a unit."""
    total, cells = 0.0, len(rules.inner)
    length = time[land] - start
    for i in range(node + 1, land):
        place = (time[i] - start) / length
        if place < 1.0:
            total += rules.inner[min(int((place * units) % 1.0 * cells), cells - 1)]
    return total


@compiled
def _cost(rules: Rules, off: float, units: int, inside: float) -> np.float32:
    size = abs(off / rules.sigma[units])
    cost = 0.5 * size * size if size <= rules.huber else rules.huber * (size - 0.5 * rules.huber)
    return np.float32(cost - inside)


@compiled
def _tempo_after(rules: Rules, tempo: int, off: float, units: int) -> int:
    to = np.rint((rules.tempi[tempo] + rules.follow[units] * off - rules.tempi[0]) / rules.bin)
    return int(min(max(to, 0.0), len(rules.tempi) - 1.0))


@compiled
def best_step(
    rules: Rules,
    time: Floats64,
    gain: Floats32,
    score: Floats32,
    start: float,
    node: int,
    unit: int,
    tempo: int,
) -> tuple[int, int]:
    """Onset and units of the best step on from a moment past an onset; no units where there is none."""
    lands, taken, plain = options(rules, time, start, node)
    best, choice = np.float32(-np.inf), -1
    for j in range(len(lands)):
        land, units = int(lands[j]), int(abs(taken[j]))
        unit_to = (unit + units) % rules.units
        base = gain[land, unit_to] - rules.skip[unit, units]
        if j < plain:
            off = np.log((time[land] - start) / units) - rules.log_unit - rules.tempi[tempo]
            inside = _inside(rules, time, start, node, land, units)
            to = _tempo_after(rules, tempo, off, units)
            value = base - _cost(rules, off, units, inside) + score[land, unit_to, to]
        elif _silent(rules, time, start, node, land, units, tempo):
            value = base - np.float32(rules.pause) + score[land, unit_to, tempo]
        else:
            value = np.float32(-1e9)
        if value > best:
            best, choice = value, j
    if choice < 0:
        return -1, 0
    return int(lands[choice]), int(taken[choice])


@compiled
def _weigh(
    rules: Rules,
    time: Floats64,
    gain: Floats32,
    score: Floats32,
    node: int,
    best: Floats32,
    ahead: NDArray[np.int16],
    step: NDArray[np.int8],
) -> None:
    """Find the best step on from each state of an onset: its value, where it lands, the units it takes."""
    start, bins = time[node], len(rules.tempi)
    cost = np.empty(bins, np.float32)
    to = np.empty(bins, np.int64)
    lands, taken, plain = options(rules, time, start, node)
    for j in range(len(lands)):
        land, units = int(lands[j]), int(abs(taken[j]))
        if j < plain:
            inside = _inside(rules, time, start, node, land, units)
            z = np.log((time[land] - start) / units) - rules.log_unit
            for b in range(bins):
                cost[b] = _cost(rules, z - rules.tempi[b], units, inside)
                to[b] = _tempo_after(rules, b, z - rules.tempi[b], units)
        else:
            for b in range(bins):
                silent = _silent(rules, time, start, node, land, units, b)
                cost[b] = np.float32(rules.pause) if silent else np.float32(1e9)
                to[b] = b
        for unit in range(rules.units):
            unit_to = (unit + units) % rules.units
            base = gain[land, unit_to] - rules.skip[unit, units]
            for b in range(bins):
                value = base - cost[b] + score[land, unit_to, to[b]]
                if value > best[unit, b]:
                    best[unit, b] = value
                    ahead[node, unit, b] = land - node
                    step[node, unit, b] = taken[j]


@compiled
def fill(
    rules: Rules,
    time: Floats64,
    gain: Floats32,
    stop: float,
    score: Floats32,
    ahead: NDArray[np.int16],
    step: NDArray[np.int8],
) -> None:
    """Fill a table from its end.

    Parameters
    ----------
    time : (n,) float64
        Onset times.
    gain : (n, units) float32
        Of landing on each onset as each unit.
    stop : float
        Cost of each unit left uncounted before the last onset.
    score : (n, units, bins) float32
        Best score from each state on; written.
    ahead, step : (n, units, bins) int
        Its first step: how many onsets on it lands, and over how many units; none where the count ends. Written.
    """
    n, bins = len(time), len(rules.tempi)
    best = np.empty((rules.units, bins), np.float32)
    for i in range(n - 1, -1, -1):
        best[:] = -np.inf
        _weigh(rules, time, gain, score, i, best, ahead, step)
        for b in range(bins):
            left = -stop * max(0.0, (time[n - 1] - time[i]) / rules.seconds[b] - 1.0)
            for unit in range(rules.units):
                if best[unit, b] == -np.inf:
                    score[i, unit, b] = left
                    continue
                score[i, unit, b] = max(np.float64(best[unit, b]), left) - rules.pull[b]
                if best[unit, b] < left:
                    step[i, unit, b] = 0
