"""Bar lines between those tapped: counted out through the beats of the bars, as the onsets speak for them."""

from __future__ import annotations

from collections.abc import Mapping
from math import log
from typing import NamedTuple

import numpy as np

from core.between import Count, between
from core.checks import Floats
from core.costs import Costs
from core.metre import Metre, TimeSignature
from core.pulse import BAR, pulse_of
from core.way import Mark, place_of

# Both ends are sure, so tempo may bend more and onsets count for more than where a count runs on unchecked.
COSTS = Costs(sigma=0.2, pull=1.0, huber=1.5, weight=(1.0, 1.0, 1.3), skip=(0.5, 1.2, 4.0))

EVENNESS = 0.06
"""Spread of a bar line about even division, as a share of the stretch, when its confidence is judged."""


class Filled(NamedTuple):
    """A bar line that was not tapped."""

    bar: int
    time: float
    confidence: float


def filled(
    begin: Mark, end: Mark, metre: Metre, time: Floats, evidence: Mapping[TimeSignature, Floats]
) -> list[Filled]:
    """The bar lines strictly between two known moments.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    evidence : mapping of TimeSignature to (n, 3) float
        Log likelihood of each onset as unit, beat and bar line, for every signature between.
    """
    bar, _ = place_of(metre, begin.position)
    quarter = (end.time - begin.time) / float(end.position - begin.position)
    positions: list[float] = []
    levels: list[int] = []
    gains: list[Floats] = []
    lines: list[tuple[int, int]] = []
    window = slice(*np.searchsorted(time, (begin.time - 0.01, end.time + 0.01)))
    gain = {signature: COSTS.gain(values[window]) for signature, values in evidence.items()}
    while (at := metre.quarter_of(bar)) <= end.position:
        signature = metre.at(bar)
        pulse = pulse_of(signature, quarter)
        for unit, level in enumerate(pulse.levels):
            position = at + unit * pulse.unit_quarters
            if begin.position < position < end.position and level == BAR:
                lines.append((bar, len(positions)))
            if begin.position <= position <= end.position:
                positions.append(float(position - begin.position))
                levels.append(level)
                gains.append(gain[signature] if signature in gain else np.zeros((window.stop - window.start, 3)))
        bar += 1
    if not lines:
        return []
    count = Count(np.array(positions), np.array(levels), gains)
    near = time[window]
    _, way = between(near, count, begin.time, end.time, log(quarter), COSTS)
    known = np.array(way)
    times = np.interp(count.quarters, count.quarters[known[:, 0].astype(int)], known[:, 1])
    return [
        Filled(number, float(times[i]), _confidence(float(times[i]), i, count, near, begin.time, end.time))
        for number, i in lines
    ]


def _confidence(line: float, unit: int, count: Count, time: Floats, begin: float, end: float) -> float:
    expected = begin + (end - begin) * count.quarters[unit] / count.quarters[-1]
    spread = EVENNESS * (end - begin)
    places = np.append(time, expected)
    value = np.append(count.gain[unit][:, BAR], -COSTS.skip[BAR]) - 0.5 * ((places - expected) / spread) ** 2
    share = np.exp(value - value.max())
    return float(share[np.abs(places - line) <= 0.05].sum() / share.sum())
