"""The search over a stretch whose bars are counted: between two placed lines, or up to a change of metre.

Here the unit count is part of the state and both ends are fixed, or the far end is left to what a table
says of the music after it. Each state keeps the one best way to it, with the tempo it arrived at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.between_kernel import best_ways
from core.checks import Floats
from core.costs import Costs
from core.pulse import BAR

PRUNE = 30.0
"""Ways this much worse than the best to the same count are given up."""


STRAY = 0.45
"""A unit is looked for this far from where even division puts it, as a share of its distance to the nearer end."""

WIDEST = 3.0
"""But never further than so many bars."""


@dataclass(frozen=True, slots=True, eq=False)
class Count:
    """What is counted along a stretch, one entry a unit from its first to its last.

    Parameters
    ----------
    quarters : (units,) float
        Score position of each unit, quarters from the start of the stretch.
    levels : (units,) int
        Level of each unit.
    gain : sequence of (n, 3) float
        For each unit, what landing on each onset gains at each level (the same array for a whole metre).
    """

    quarters: Floats
    levels: NDArray[np.int64]
    gain: Sequence[Floats]


@dataclass(slots=True)
class _Front:
    """The best ways to one unit: onsets (-1 for the end), times, tempi, scores, and where each came from."""

    node: NDArray[np.int64]
    time: Floats
    tempo: Floats
    score: Floats
    parent: NDArray[np.int64]
    parent_unit: NDArray[np.int64]


def between(
    time: Floats, count: Count, start: float, end: float, quarter: float, costs: Costs
) -> tuple[float, list[tuple[int, float]]]:
    """Find the best places for the units between two fixed moments.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    count : Count
        The units; the first lies at `start`, the last at `end`.
    start, end : float
        Seconds.
    quarter : float
        Log seconds a quarter lasts at the start.

    Returns
    -------
    float
        Score of the best way, -inf where no onsets can be stepped on.
    list of (int, float)
        Unit and time, for each unit that was given an onset's time, in order, both ends among them. The
        others are to be divided evenly between their neighbours. With no onset that fits only the ends remain.
    """
    last = len(count.quarters) - 1
    fronts = _fronts(time, count, start, end, quarter, costs)
    mean = np.log((end - start) / count.quarters[-1])
    goal = _advance(fronts, last, np.array([-1]), np.array([end]), np.zeros(1), count, mean, costs)
    fronts.append(goal)
    if not len(goal.node):
        return -np.inf, [(0, start), (last, end)]
    return float(goal.score[0]), _trace(fronts, last, 0)


def through(
    time: Floats, count: Count, start: float, end: float, quarter: float, unit: int, costs: Costs
) -> Floats:
    """What the best way between two fixed moments is worth that takes each onset for one unit.

    Parameters
    ----------
    unit : int
        Which one, neither the first nor the last. The others are as in `between`.

    Returns
    -------
    (n,) float
        Against the best of them, 0; -inf for onsets that no way goes through.
    """
    last, n = len(count.quarters) - 1, len(time)
    level = count.levels[unit]
    forth = _fronts(time, count, start, end, quarter, costs, up_to=unit)[unit]
    # The other half is searched from the end, in a time that runs backwards.
    whole = Count(
        count.quarters[-1] - count.quarters[::-1], count.levels[::-1], [gain[::-1] for gain in count.gain[::-1]]
    )
    mean = float(np.log((end - start) / count.quarters[-1]))
    back = _fronts(-time[::-1], whole, -end, -start, mean, costs, up_to=last - unit)[last - unit]
    value, tempo = np.full((2, n), -np.inf), np.zeros((2, n))
    value[0, forth.node], tempo[0, forth.node] = forth.score, forth.tempo
    value[1, n - 1 - back.node], tempo[1, n - 1 - back.node] = back.score, back.tempo
    total = value.sum(axis=0)
    there = np.isfinite(total)
    size = np.abs(tempo[0] - tempo[1]) / costs.sigma
    bent = np.where(size <= costs.huber, 0.5 * size * size, costs.huber * (size - 0.5 * costs.huber))
    total = np.where(there, total - bent - np.asarray(count.gain[unit])[:, level], -np.inf)
    return np.asarray(total - total[there].max() if there.any() else total)


def _fronts(
    time: Floats, count: Count, start: float, end: float, quarter: float, costs: Costs, up_to: int | None = None
) -> list[_Front]:
    """The best ways to each unit before the last, or to one of them."""
    last = len(count.quarters) - 1
    mean = np.log((end - start) / count.quarters[-1])
    lines = max(int(np.sum(count.levels[1:] == BAR)), 1)
    widest = WIDEST * (end - start) / lines
    fronts = [_Front(*(np.array([x]) for x in (-1, start, 0.5 * (quarter + mean), 0.0, -1, -1)))]
    inside = np.flatnonzero((time > start + 0.03) & (time < end - 0.03))
    for unit in range(1, last if up_to is None else up_to + 1):
        expected = start + (end - start) * count.quarters[unit] / count.quarters[-1]
        near = min(widest, STRAY * min(expected - start, end - expected) + 0.5)
        here = inside[np.abs(time[inside] - expected) <= near]
        gain = count.gain[unit][here, count.levels[unit]]
        fronts.append(_advance(fronts, unit, here, time[here], gain, count, mean, costs))
    return fronts


def _advance(
    fronts: list[_Front],
    unit: int,
    node: NDArray[np.int64],
    time: Floats,
    gain: Floats,
    count: Count,
    mean: float,
    costs: Costs,
) -> _Front:
    """Best way to each of the onsets `node` as the given unit, from the fronts of the units before."""
    first = max(0, unit - costs.longest)
    sources = [(u, fronts[u]) for u in range(first, unit) if len(fronts[u].node)]
    empty = np.zeros(0)
    if not sources or not len(node):
        none = np.zeros(0, np.int64)
        return _Front(none, empty, empty, empty, none, none)
    from_unit = np.concatenate([np.full(len(f.node), u) for u, f in sources])
    index = np.concatenate([np.arange(len(f.node)) for _, f in sources])
    score = np.concatenate([f.score for _, f in sources])
    tempo = np.concatenate([f.tempo for _, f in sources])
    begun = np.concatenate([f.time for _, f in sources])
    passed = np.concatenate([[0.0], np.cumsum(np.array(costs.skip)[count.levels])])
    score = score - (passed[unit] - passed[from_unit + 1])
    units = unit - from_unit
    quarters = count.quarters[unit] - count.quarters[from_unit]
    value, arrived, best = best_ways(
        time,
        begun,
        tempo,
        score,
        units,
        quarters,
        costs.sigma * units**-costs.sigma_power,
        1 - costs.keep**units,
        float(mean),
        costs.huber,
        costs.pause,
        costs.pull,
    )
    total = value + gain
    keep = np.isfinite(total) & (total > np.max(total, initial=-np.inf) - PRUNE)
    return _Front(node[keep], time[keep], arrived[keep], total[keep], index[best][keep], from_unit[best][keep])


def _trace(fronts: list[_Front], unit: int, index: int) -> list[tuple[int, float]]:
    way: list[tuple[int, float]] = []
    while unit >= 0:
        front = fronts[unit]
        way.append((unit, float(front.time[index])))
        unit, index = int(front.parent_unit[index]), int(front.parent[index])
    return way[::-1]
