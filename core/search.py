"""The search for the bars of a take: dynamic programming over onsets, units of the bar and tempo.

A state is (onset, unit of the bar, log length of a quarter). A step goes from one onset to a later one over
`m` units; it costs what its tempo departs from the state's, and for each bar line, beat or unit it passes
without an onset; it gains the evidence of the onset it lands on. A pause step lets a long silence pass
without a change of tempo. The table holds the best score from every state to the end of the take, so that
after a correction the bars from there on are read off it at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.costs import Costs
from core.pulse import Pulse
from core.search_kernel import Rules, best_step, fill

Floats32 = NDArray[np.float32]
Ints = NDArray[np.int64]

SPAN = 0.72
"""A table covers tempi this far to either side of its own, in natural logarithm."""

BINS = 33
"""Tempi a table tells apart."""

SAME = 0.060
"""An onset this close after a placed line sounds with it, in seconds; the search goes on from the next one."""

STOP = 1.0
"""Cost of each unit left uncounted before the last onset."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step read off a table: the onset and unit it lands on, the units it took, the tempo after it."""

    node: int
    unit: int
    units: int
    quarter: float


class Steps:
    """All steps that could be taken from an onset, and what each costs; shared by every search over a take.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    pulse : Pulse
        How the bars are counted.
    centre : float
        Log seconds a quarter lasts, about which tempi are looked for.
    """

    def __init__(self, time: Floats, pulse: Pulse, centre: float, costs: Costs) -> None:
        self.time = np.array(time, dtype=np.float64)
        self.pulse, self.costs = pulse, costs
        self.tempi = centre + np.linspace(-SPAN, SPAN, BINS)
        self.quickest = float(self.tempi[0])
        self.bin = float(self.tempi[1] - self.tempi[0])
        self.log_unit = float(np.log(float(pulse.unit_quarters)))
        longest = max(min(pulse.units, costs.longest), 1 if pulse.units > 3 else 4)
        m = np.arange(longest + 1)
        self.follow: Floats = 1.0 - costs.keep ** m.astype(np.float64)
        passing = np.array(costs.skip)[np.array(pulse.levels)]
        skip = np.zeros((pulse.units, longest + 1), np.float32)
        for count in range(2, longest + 1):
            skip[:, count] = skip[:, count - 1] + np.roll(passing, -(count - 1))
        self.rules = Rules(
            units=pulse.units,
            longest=longest,
            tempi=self.tempi,
            seconds=np.exp(self.tempi + self.log_unit),
            bin=self.bin,
            log_unit=self.log_unit,
            sigma=costs.sigma * np.maximum(m, 1).astype(np.float64) ** -costs.sigma_power,
            follow=self.follow,
            huber=costs.huber,
            pause=costs.pause,
            skip=skip,
            inner=np.log(np.maximum(costs.inner(pulse), 0.15)) * costs.inner_weight,
            shortest=float(np.exp(self.tempi[0] + self.log_unit - 0.25)),
            farthest=float(np.exp(self.tempi[-1] + self.log_unit + 0.25)),
            pull=(0.5 * (costs.pull * (self.tempi - centre)) ** 2).astype(np.float32),
        )

    def tempo_bin(self, quarter: float) -> int:
        """Nearest tempo told apart, from log seconds of a quarter."""
        return min(max(round((quarter - self.quickest) / self.bin), 0), BINS - 1)

    def tempo_bins(self, quarters: Floats) -> Ints:
        """`tempo_bin` of each of many."""
        return np.clip(np.rint((quarters - self.quickest) / self.bin), 0, BINS - 1).astype(np.int64)


class Table:
    """Best score from every state to the end of the take, and the step that begins it.

    Parameters
    ----------
    steps : Steps
        What steps there are.
    evidence : (n, 3) float
        Log likelihood of each onset as a unit, beat and bar line, against its being none.
    stop : float
        Cost of each unit left uncounted before the last onset.
    """

    def __init__(self, steps: Steps, evidence: Floats, *, stop: float = STOP) -> None:
        self.steps = steps
        self.gain = np.ascontiguousarray(steps.costs.gain(evidence)[:, list(steps.pulse.levels)], np.float32)
        n, units = self.gain.shape
        self.score = np.zeros((n, units, BINS), np.float32)
        self._ahead = np.zeros((n, units, BINS), np.int16)
        self._step = np.zeros((n, units, BINS), np.int8)
        fill(steps.rules, steps.time, self.gain, stop, self.score, self._ahead, self._step)

    @property
    def nbytes(self) -> int:
        """Bytes that it takes."""
        return self.gain.nbytes + self.score.nbytes + self._ahead.nbytes + self._step.nbytes

    def read(self, start: float, unit: int, quarter: float) -> Iterator[Step]:
        """Read the best way on from a moment, step by step, to the end of the take.

        Parameters
        ----------
        start : float
            Seconds, an onset's or any other.
        unit : int
            Unit of the bar at `start`.
        quarter : float
            Log seconds a quarter lasts there.
        """
        steps = self.steps
        tempo = steps.tempo_bin(quarter)
        node = int(np.searchsorted(steps.time, start + SAME)) - 1
        land, taken = best_step(steps.rules, steps.time, self.gain, self.score, start, node, unit, tempo)
        while taken:
            count = abs(taken)
            if taken > 0:
                z = np.log((steps.time[land] - start) / count) - steps.log_unit
                tempo = steps.tempo_bin(float(steps.tempi[tempo] + steps.follow[count] * (z - steps.tempi[tempo])))
            start, unit = float(steps.time[land]), (unit + count) % steps.pulse.units
            yield Step(land, unit, count, float(steps.tempi[tempo]))
            taken = int(self._step[land, unit, tempo])
            land += int(self._ahead[land, unit, tempo])
