"""Bar lines between those tapped, counted out through the beats of the bars, as the onsets speak for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log
from typing import NamedTuple

import numpy as np

from core.between import Count, between, through
from core.checks import Floats
from core.costs import Costs
from core.metre import Metre, TimeSignature
from core.pulse import BAR, pulse_of
from core.way import Mark, place_of

# Both ends are sure, so tempo may bend more and onsets count for more than where a count runs on unchecked.
COSTS = Costs(sigma=0.2, pull=1.0, huber=1.5, weight=(0.5, 0.5, 1.3), skip=(0.5, 1.2, 4.0))

AROUND = 12
"""How freely the tempo is played is the median change over so many stretches on each side."""

FREE, LEAST, MOST = 0.35, 0.012, 0.2
"""The spread of a line about where the tempo puts it is so much of that change, between two bounds; as a share of
the stretch."""

SWAY = 0.4
"""The tempo at an end of a stretch differs from its mean no more than this, in logarithm."""

STIFF = 1.0
"""What it costs to be off by many spreads grows with the logarithm, so much for each."""


class Between(NamedTuple):
    """A bar line that was not tapped, as the search finds it.

    Parameters
    ----------
    bar : int
    time, expected : float
        Seconds at which the search puts it, and at which the tempo of the stretches around does.
    confidence : float
        0 to 1.
    """

    bar: int
    time: float
    expected: float
    confidence: float


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """What was searched between two known moments.

    Parameters
    ----------
    begin, end : Mark
    spread : float
        Of a line about where the tempo puts it, as a share of the stretch.
    lines : tuple of Between
        The bar lines inside, in order.
    """

    begin: Mark
    end: Mark
    spread: float
    lines: tuple[Between, ...]
    _window: slice
    _time: Floats
    _count: Count
    _units: Mapping[int, int]

    def through(self, bar: int, onsets: int) -> Floats:
        """What the best way that takes each of all onsets for a line is worth; see `core.between.through`."""
        quarter = log((self.end.time - self.begin.time) / float(self.end.position - self.begin.position))
        worth = np.full(onsets, -np.inf)
        worth[self._window] = through(
            self._time, self._count, self.begin.time, self.end.time, quarter, self._units[bar], COSTS
        )
        return worth


def search(
    known: Sequence[Mark], metre: Metre, time: Floats, evidence: Mapping[TimeSignature, Floats]
) -> list[Searched]:
    """Search the bar lines between known moments, stretch by stretch, where there are any.

    Parameters
    ----------
    known : sequence of Mark
        In order.
    time : (n,) float
        Onset times in seconds.
    evidence : mapping of TimeSignature to (n, 3) float
        Log likelihood of each onset as unit, beat and bar line, for every signature between.
    """
    tempo = np.log([(b.time - a.time) / float(b.position - a.position) for a, b in pairwise(known)])
    changes = np.abs(np.diff(tempo))
    found: list[Searched] = []
    for i, (begin, end) in enumerate(pairwise(known)):
        first, _ = place_of(metre, begin.position)
        if metre.quarter_of(first + 1) >= end.position:
            continue
        near = changes[max(0, i - AROUND) : i + AROUND]
        free = float(np.clip(FREE * np.median(near), LEAST, MOST)) if len(near) else MOST
        about = np.clip(tempo[[max(i - 1, 0), min(i + 1, len(tempo) - 1)]] - tempo[i], -2 * SWAY, 2 * SWAY)
        bend = 0.5 * float(about[1] - about[0])
        found.append(_stretch(begin, end, metre, time, evidence, bend, free))
    return found


def _stretch(
    begin: Mark,
    end: Mark,
    metre: Metre,
    time: Floats,
    evidence: Mapping[TimeSignature, Floats],
    bend: float,
    free: float,
) -> Searched:
    bar, _ = place_of(metre, begin.position)
    whole = float(end.position - begin.position)
    quarter = (end.time - begin.time) / whole
    spread = free * (end.time - begin.time)
    positions: list[float] = []
    levels: list[int] = []
    gains: list[Floats] = []
    plain: list[Floats] = []
    lines: list[tuple[int, int, float]] = []
    window = slice(*np.searchsorted(time, (begin.time - 0.01, end.time + 0.01)).tolist())
    near = time[window]
    gain = {signature: COSTS.gain(values[window]) for signature, values in evidence.items()}
    silent = np.zeros((len(near), 3))
    while (at := metre.quarter_of(bar)) <= end.position:
        signature = metre.at(bar)
        pulse = pulse_of(signature, quarter)
        for unit, level in enumerate(pulse.levels):
            position = at + unit * pulse.unit_quarters
            if not begin.position <= position <= end.position:
                continue
            here = gain.get(signature, silent)
            plain.append(here)
            if begin.position < position < end.position and level == BAR:
                share = float(position - begin.position) / whole
                # A tempo that goes evenly, in logarithm, from what it is at the begin to what it is at the end.
                curved = np.expm1(bend * share) / np.expm1(bend) if abs(bend) > 1e-6 else share
                expected = begin.time + float(curved) * (end.time - begin.time)
                here = here - STIFF * np.log1p(0.5 * ((near[:, None] - expected) / spread) ** 2)
                lines.append((bar, len(positions), expected))
            positions.append(float(position - begin.position))
            levels.append(level)
            gains.append(here)
        bar += 1
    count = Count(np.array(positions), np.array(levels), gains)
    _, way = between(near, count, begin.time, end.time, log(quarter), COSTS)
    known = np.array(way)
    times = np.interp(count.quarters, count.quarters[known[:, 0].astype(int)], known[:, 1])
    found = tuple(
        Between(number, float(times[i]), expected, _confidence(float(times[i]), expected, gains[i][:, BAR], near))
        for number, i, expected in lines
    )
    units = {number: i for number, i, _ in lines}
    return Searched(begin, end, free, found, window, near, Count(count.quarters, count.levels, plain), units)


def _confidence(line: float, expected: float, gain: Floats, time: Floats) -> float:
    places = np.append(time, expected)
    value = np.append(gain, -COSTS.skip[BAR])
    share = np.exp(value - value.max())
    return float(share[np.abs(places - line) <= 0.05].sum() / share.sum())
