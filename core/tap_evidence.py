"""What the onsets say of the places tapped, under the bar lengths that the taps themselves give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from math import log

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence, Heard
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.pulse import BAR, BEAT
from core.tap_count import Counted
from core.tap_learn import learned
from core.tap_missed import Missing, smoothed
from core.tap_places import Place, Places
from core.tap_snap import NOTHING, Targets
from core.way import Mark

GAIN = Costs()
"""Weights of the evidence against the taps."""

AROUND = 2, 4
"""The tempo at a tap is the median over so many steps on each side, the second where beats were tapped."""

HEARD, LEARNED = (0.5, 3.0), (1.0, 4.0)
"""Weight of what tells bar lines from beats at a tap, and the most it can cost to count against it: as the
networks hear it in any take, and as it was learned from this one."""


@dataclass(frozen=True, eq=False)
class TapEvidence:
    """Evidence at the onsets for every signature that was tapped.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    heard : dict of TimeSignature to Heard
        What the networks make of each onset.
    level : (float, float)
        `HEARD` or `LEARNED`.
    """

    time: Floats
    heard: dict[TimeSignature, Heard]
    level: tuple[float, float] = HEARD

    @classmethod
    def of(
        cls, heard: Evidence, onsets: Onsets, places: Sequence[Places], counts: Sequence[Sequence[Counted]]
    ) -> TapEvidence:
        """Evidence under the tempo of some counted passes."""
        middle: list[float] = []
        tempo: list[float] = []
        signatures: set[TimeSignature] = set()
        for where, counted in zip(places, counts, strict=True):
            reach = AROUND[where.beats]
            steps = list(pairwise(counted))
            rates = [
                log(max(b.time - a.time, 1e-3) / (where.quarters[b.place] - where.quarters[a.place]))
                for a, b in steps
            ]
            middle += [(a.time + b.time) / 2 for a, b in steps]
            tempo += [float(np.median(rates[max(0, i - reach) : i + reach + 1])) for i in range(len(rates))]
            signatures |= {place.signature for place in where.all[counted[0].place : counted[-1].place + 1]}
        order = np.argsort(middle, kind="stable")
        if len(order):
            quarter = np.exp(np.interp(onsets.time, np.array(middle)[order], np.array(tempo)[order]))
        else:
            # A lone tap says nothing of the tempo.
            quarter = np.full(len(onsets), 0.5)
        return cls(onsets.time, {one: heard.supposing(one, quarter) for one in sorted(signatures)})

    @cached_property
    def by_signature(self) -> dict[TimeSignature, Floats]:
        """Log likelihood of each onset as unit, beat and bar line, (n, 3)."""
        return {signature: heard.evidence for signature, heard in self.heard.items()}

    def taught(self, lines: Sequence[Mark], metre: Metre) -> TapEvidence:
        """The same after it was seen where bar lines are, as `core.tap_learn` learns from them."""
        seen = learned(self.heard, self.time, lines, metre)
        heard = {signature: replace(one, evidence=seen[signature]) for signature, one in self.heard.items()}
        return replace(self, heard=heard, level=LEARNED)

    def targets(self, lines: Floats, places: Sequence[Place]) -> Targets:
        """The onsets about some lines that mean the given places."""
        kinds = {(place.signature, place.level) for place in places}
        gains = {kind: GAIN.gain(self.by_signature[kind[0]])[:, kind[1]] for kind in kinds}
        return Targets.near(lines, self.time, [gains[place.signature, place.level] for place in places])

    def hearing(
        self, taps: Floats, where: Places, counted: Sequence[Counted], bias: float, spread: float
    ) -> Hearing | None:
        """What is heard about the taps of a pass with a bias and spread, to count them by; None for a lone tap."""
        if len(counted) < 2:
            return None
        unlike: dict[TimeSignature, Floats] = {}
        for signature in self.by_signature if where.beats else ():
            gain = GAIN.gain(self.by_signature[signature])
            values = np.full((len(taps), 3), NOTHING)
            for level in (BEAT, BAR):
                targets = Targets.near(taps - bias, self.time, [gain[:, level]] * len(taps))
                off = (targets.time - (taps - bias)[targets.tap]) / spread
                np.maximum.at(values[:, level], targets.tap, targets.gain - 0.5 * off * off)
            best = values[:, [BEAT, BAR]].max(axis=1, keepdims=True)
            weight, most = self.level
            unlike[signature] = np.minimum(weight * (best - values), most)
        times = np.array([item.time for item in counted])
        at, tempo = smoothed(times, where.quarters[[item.place for item in counted]])
        return Hearing(Missing(self.time, self.by_signature, bias, at, tempo), unlike)


@dataclass(frozen=True, slots=True, eq=False)
class Hearing:
    """What is heard about the taps of one pass; see `core.tap_count.Hearing`."""

    missing: Missing
    levels: dict[TimeSignature, Floats]
    _odds: dict[tuple[float, float, int, int, int], float] = field(default_factory=dict)

    def usual(self, time: float) -> float:
        """Log seconds a quarter lasts around a time."""
        return self.missing.usual(time)

    def missed(self, begin: float, end: float, steps: Sequence[Place], stray: float) -> float:
        """Log odds that taps for the inner places were missed."""
        # Ways that are followed side by side ask the same.
        key = begin, end, steps[0].bar, steps[0].beat, len(steps)
        if key not in self._odds:
            self._odds[key] = self.missing.odds(begin, end, steps, stray)
        return self._odds[key]

    def unlike(self, tap: int, place: Place) -> float:
        """How much less than another level of beat a tap looks like that of a place, 0 or more."""
        levels = self.levels.get(place.signature)
        return 0.0 if levels is None else float(levels[tap, place.level])
