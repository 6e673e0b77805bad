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
        self.time, self.pulse, self.costs = time, pulse, costs
        self.tempi = centre + np.linspace(-SPAN, SPAN, BINS)
        self.quickest = float(self.tempi[0])
        self.bin = float(self.tempi[1] - self.tempi[0])
        self.every = np.arange(pulse.units)
        self.log_unit = float(np.log(float(pulse.unit_quarters)))
        self.longest = max(min(pulse.units, costs.longest), 1 if pulse.units > 3 else 4)
        self.unit = np.exp(self.tempi + self.log_unit)
        self.lengths = np.arange(1, self.longest + 1)
        m = np.arange(self.longest + 1)
        with np.errstate(divide="ignore"):
            self.sigma = costs.sigma * np.maximum(m, 1).astype(np.float64) ** -costs.sigma_power
        self.follow = 1 - costs.keep**m
        levels = np.array(pulse.levels)
        passing = np.array(costs.skip)[levels]
        self.skip = np.zeros((pulse.units, self.longest + 1), np.float32)
        for count in range(2, self.longest + 1):
            self.skip[:, count] = self.skip[:, count - 1] + np.roll(passing, -(count - 1))
        self.pull = (0.5 * (costs.pull * (self.tempi - centre)) ** 2).astype(np.float32)
        self.inner = np.log(np.maximum(costs.inner(pulse), 0.15)) * costs.inner_weight
        self.shortest_unit = float(np.exp(self.tempi[0] + self.log_unit - 0.25))
        self.longest_unit = float(np.exp(self.tempi[-1] + self.log_unit + 0.25))

    def tempo_bin(self, quarter: float) -> int:
        """Nearest tempo told apart, from log seconds of a quarter."""
        return min(max(round((quarter - self.quickest) / self.bin), 0), BINS - 1)

    def tempo_bins(self, quarters: Floats) -> Ints:
        """`tempo_bin` of each of many."""
        return np.clip(np.rint((quarters - self.quickest) / self.bin), 0, BINS - 1).astype(np.int64)

    def after(self, start: float, i: int) -> tuple[Ints, Ints]:
        """Onsets after onset `i` that a step from `start` seconds may land on, and the units it then takes."""
        time = self.time
        m = self.lengths
        first = np.maximum(np.searchsorted(time, start + self.shortest_unit * m), i + 1)
        count = np.maximum(np.searchsorted(time, start + self.longest_unit * m) - first, 0)
        offset = np.cumsum(count) - count
        lands = np.arange(int(count.sum())) - np.repeat(offset - first, count)
        return lands, np.repeat(m, count)

    def tempo_cost(self, start: float, i: int, lands: Ints, units: Ints) -> tuple[Floats32, NDArray[np.int32]]:
        """Cost of each step from each tempo, shape (steps, BINS), and the tempo each leads to."""
        z = np.log((self.time[lands] - start) / units) - self.log_unit
        off = z[:, None] - self.tempi[None, :]
        cost = _huber(off / self.sigma[units][:, None], self.costs.huber)
        cost -= self._inner_onsets(start, i, lands, units)[:, None]
        to = np.rint((self.tempi[None, :] + self.follow[units][:, None] * off - self.tempi[0]) / self.bin)
        return cost.astype(np.float32), np.clip(to, 0, BINS - 1).astype(np.int32)

    def _inner_onsets(self, start: float, i: int, lands: Ints, units: Ints) -> Floats:
        """How well the onsets inside each step fall where players put notes within a unit."""
        inside = self.time[i + 1 : lands.max()] - start
        if len(inside) == 0:
            return np.zeros(len(lands))
        place = inside[None, :] / (self.time[lands] - start)[:, None]
        bins = len(self.inner)
        cell = ((place * units[:, None]) % 1 * bins).astype(np.int64)
        return np.asarray(np.where(place < 1, self.inner[np.minimum(cell, bins - 1)], 0.0).sum(axis=1))

    def pauses(self, start: float, i: int) -> tuple[Ints, Ints, NDArray[np.bool_]]:
        """Onsets a pause may end on, the units it takes, and at which tempi the silence is long enough for one."""
        unit = self.unit
        following = self.time[i + 1 : i + 3]
        if not len(following) or following[0] - start <= 0.8 * unit[0] or following[-1] - start <= 1.35 * unit[0]:
            return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros((0, BINS), dtype=bool)
        most = int(min((following[0] - start) / (0.8 * unit[0]), self.longest))
        lands = np.repeat(np.arange(i + 1, i + 1 + len(following)), most)
        units = np.tile(np.arange(1, most + 1), len(following))
        taken = units[:, None] * unit[None, :]
        silent = following[0] - start > 0.8 * taken
        return lands, units, silent & ((self.time[lands] - start)[:, None] > 1.35 * taken)


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
        self.steps, self._stop = steps, stop
        self.gain = steps.costs.gain(evidence)[:, list(steps.pulse.levels)].astype(np.float32)
        n, units = self.gain.shape
        self.score = np.zeros((n, units, BINS), np.float32)
        self._choice = np.full((n, units, BINS), -1, np.int16)
        self._lands: list[Ints] = [np.zeros(0, np.int64)] * n
        self._units: list[Ints] = [np.zeros(0, np.int64)] * n
        for i in range(n - 1, -1, -1):
            self._fill(i)

    def _options(self, start: float, i: int, every: Ints) -> tuple[Ints, Ints, Floats32]:
        """Steps on from `start` past onset `i`, from every unit asked for.

        The onset and the units (negative: a pause) of each, and its value (steps, units asked for, BINS).
        """
        steps, score, count = self.steps, self.score, self.steps.pulse.units
        values = []
        lands, units = steps.after(start, i)
        if len(lands):
            cost, to = steps.tempo_cost(start, i, lands, units)
            unit_to = (every[None, :] + units[:, None]) % count
            base = self.gain[lands[:, None], unit_to] - steps.skip[every][:, units].T
            reached = score[lands[:, None, None], unit_to[:, :, None], to[:, None, :]]
            values.append(base[:, :, None] - cost[:, None, :] + reached)
        rests, rest_units, long = steps.pauses(start, i)
        if long.any():
            unit_to = (every[None, :] + rest_units[:, None]) % count
            base = (
                self.gain[rests[:, None], unit_to]
                - steps.skip[every][:, rest_units].T
                - np.float32(steps.costs.pause)
            )
            value = base[:, :, None] + score[rests[:, None], unit_to]
            values.append(np.where(long[:, None, :], value, np.float32(-1e9)))
            # Negative units: a pause, after which the tempo is as before.
            lands, units = np.append(lands, rests), np.append(units, -rest_units)
        if not values:
            return lands[:0], units[:0], np.zeros((0, len(every), BINS), np.float32)
        return lands, units, np.concatenate(values)

    def _fill(self, i: int) -> None:
        steps = self.steps
        unit = steps.unit
        stop = -self._stop * np.maximum(0, (steps.time[-1] - steps.time[i]) / unit - 1.0)
        self._lands[i], self._units[i], value = self._options(float(steps.time[i]), i, steps.every)
        if not len(value):
            self.score[i] = stop
            return
        choice, best = value.argmax(axis=0), value.max(axis=0)
        self.score[i] = np.maximum(best, stop) - steps.pull
        self._choice[i] = np.where(best < stop, -1, choice)

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
        lands, units, value = self._options(start, node, np.array([unit]))
        choice = int(value[:, 0, tempo].argmax()) if len(value) else -1
        while choice >= 0:
            land, count = int(lands[choice]), int(units[choice])
            if count > 0:
                z = np.log((steps.time[land] - start) / count) - steps.log_unit
                tempo = steps.tempo_bin(float(steps.tempi[tempo] + steps.follow[count] * (z - steps.tempi[tempo])))
            start, unit = float(steps.time[land]), (unit + abs(count)) % steps.pulse.units
            yield Step(land, unit, abs(count), float(steps.tempi[tempo]))
            lands, units, choice = self._lands[land], self._units[land], int(self._choice[land, unit, tempo])


def _huber(x: Floats, bend: float) -> Floats:
    size = np.abs(x)
    return np.where(size <= bend, 0.5 * size * size, bend * (size - 0.5 * bend))
