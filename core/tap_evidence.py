"""What the onsets say of the places tapped, under the bar lengths that the taps themselves give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence
from core.metre import TimeSignature
from core.onsets import Onsets
from core.pulse import BAR, BEAT
from core.tap_count import Counted
from core.tap_places import Place, Places
from core.tap_snap import NOTHING, Targets

GAIN = Costs()
"""Weights of the evidence against the taps."""

AROUND = 2, 4
"""The tempo at a tap is the median over so many steps on each side, the second where beats were tapped."""

LEVEL, MOST = 0.5, 3.0
"""Weight of what tells bar lines from beats at a tap, and the most it can cost to count against it."""

WIDTH, CAP, DUE = 0.1, 2.0, 1.0
"""Where a missed tap is looked for, as a share of a step; what it can gain at most; what it must gain to count."""


@dataclass(frozen=True, slots=True, eq=False)
class TapEvidence:
    """Evidence at the onsets for every signature that was tapped.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    by_signature : dict of TimeSignature to (n, 3) float
        Log likelihood of each onset as unit, beat and bar line.
    """

    time: Floats
    by_signature: dict[TimeSignature, Floats]

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
        return cls(onsets.time, {one: heard.supposing(one, quarter).evidence for one in sorted(signatures)})

    def targets(self, lines: Floats, places: Sequence[Place]) -> Targets:
        """The onsets about some lines that mean the given places."""
        kinds = {(place.signature, place.level) for place in places}
        gains = {kind: GAIN.gain(self.by_signature[kind[0]])[:, kind[1]] for kind in kinds}
        return Targets.near(lines, self.time, [gains[place.signature, place.level] for place in places])

    def hearing(self, taps: Floats, bias: float, spread: float, *, beats: bool) -> Hearing:
        """What is heard about the taps of a pass with a bias and spread, to count them by."""
        kinds = sorted(self.by_signature)
        levels = (BEAT, BAR)
        unlike: dict[TimeSignature, Floats] = {}
        for signature in kinds if beats else ():
            gain = GAIN.gain(self.by_signature[signature])
            values = np.full((len(taps), 3), NOTHING)
            for level in levels:
                targets = Targets.near(taps - bias, self.time, [gain[:, level]] * len(taps))
                off = (targets.time - (taps - bias)[targets.tap]) / spread
                np.maximum.at(values[:, level], targets.tap, targets.gain - 0.5 * off * off)
            best = values[:, levels].max(axis=1, keepdims=True)
            unlike[signature] = np.minimum(LEVEL * (best - values), MOST)
        return Hearing(self, bias, unlike)


@dataclass(frozen=True, slots=True, eq=False)
class Hearing:
    """What is heard about the taps of one pass; see `core.tap_count.Hearing`."""

    evidence: TapEvidence
    bias: float
    levels: dict[TimeSignature, Floats]

    def unlike(self, tap: int, place: Place) -> float:
        """How much less than any other level of beat a tap looks like that of a place, 0 or more."""
        levels = self.levels.get(place.signature)
        return 0.0 if levels is None else float(levels[tap, place.level])

    def missed(self, begin: float, end: float, first: Place, missed: Sequence[Place], last: Place) -> float:
        """How well the onsets between two taps bear out that places between a first and a last were missed."""
        begin, end, time = begin - self.bias, end - self.bias, self.evidence.time
        width = WIDTH * (end - begin) / (len(missed) + 1)
        total = 0.0
        for place in missed:
            share = float((place.position - first.position) / (last.position - first.position))
            expected = begin + share * (end - begin)
            near = slice(*np.searchsorted(time, (expected - 2.5 * width, expected + 2.5 * width)))
            heard = self.evidence.by_signature.get(place.signature)
            if heard is None:
                continue
            gain = GAIN.weight[place.level] * (heard[near, place.level] + GAIN.offset[place.level])
            value = gain - 0.5 * ((time[near] - expected) / width) ** 2
            total += min(float(np.max(value, initial=NOTHING)) - DUE, CAP)
        return total
