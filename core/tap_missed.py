"""Whether taps were missed between two others, or the music only dwelt there.

The odds hang on how the step fits the tempo around it with and without the places that would have been passed
over, on what the onsets say of those places, and on whether as many notes sound as in so much of the score.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, log1p

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.metre import TimeSignature
from core.tap_places import Place

GAIN = Costs()
"""Weights of the evidence against its distance from where a place is expected."""

NOTHING = -2.5
"""What a place is worth where there is no onset for it."""

WIDTH = 0.1
"""Spread of a missed place about even division, as a share of a step."""

AROUND = 4
"""The tempo and the density of the onsets are those of so many steps on each side."""

SOME = 0.5
"""Onsets that are thought to be there in any case, so that counts of them can be divided."""

SHORT = 0.25
"""A step that is no longer than this against the tempo, in logarithm, lacks nothing."""

FARTHEST = 1.2
"""Steps longer than this are the longer for some other reason."""

NEVER = -12.0
"""Log odds of that."""

WEIGHTS = np.array([-6.17, -4.63, 0.68, 6.27, 0.82, 2.67, -0.92])
"""Fitted by `tests.bench.fit_missed`, one for each of the features."""


@dataclass(frozen=True, slots=True, eq=False)
class Missing:
    """What is known about the taps of a pass when missed ones are looked for.

    Parameters
    ----------
    onsets : (n,) float
        Onset times in seconds.
    evidence : dict of TimeSignature to (n, 3) float
        Log likelihood of each onset as unit, beat and bar line.
    bias : float
        Of the taps, seconds.
    at, tempo : (steps,) float
        Middle of each step of the pass as counted so far, and log seconds a quarter lasts around it.
    """

    onsets: Floats
    evidence: dict[TimeSignature, Floats]
    bias: float
    at: Floats
    tempo: Floats

    def usual(self, time: float) -> float:
        """Log seconds a quarter lasts around a time."""
        return float(np.interp(time, self.at, self.tempo))

    def odds(self, begin: float, end: float, steps: Sequence[Place], stray: float) -> float:
        """Log odds that the inner ones of some places were missed, against a step to the first of them.

        Parameters
        ----------
        begin, end : float
            Two taps in seconds.
        steps : sequence of Place
            The place of the first tap, those missed, and what would be that of the second.
        stray : float
            Spread of the log tempo from tap to tap.
        """
        off = log((end - begin) / float(steps[1].position - steps[0].position)) - self.usual(0.5 * (begin + end))
        if off < SHORT:
            return NEVER
        return float(WEIGHTS @ self.features(begin, end, steps, stray))

    def features(self, begin: float, end: float, steps: Sequence[Place], stray: float) -> Floats:
        """What the odds are judged by, shape (7,)."""
        begin, end = begin - self.bias, end - self.bias
        usual = self.usual(0.5 * (begin + end) + self.bias)
        one, all_of = (float(steps[i].position - steps[0].position) for i in (1, -1))
        off_one, off_all = (log((end - begin) / quarters) - usual for quarters in (one, all_of))
        inside = self._within(begin, end)
        reach = AROUND * exp(usual) * one
        outside = self._within(begin - reach, begin) + self._within(end, end + reach)
        dense = outside * exp(usual) / (2 * reach)
        few_one, few_all = (abs(log((inside + SOME) / (dense * quarters + SOME))) for quarters in (one, all_of))
        return np.array([
            1.0,
            len(steps) - 3,
            log1p((off_one / stray) ** 2) - log1p((off_all / stray) ** 2),
            min(off_one, FARTHEST),
            self._borne_out(begin, end, steps),
            few_one - few_all,
            log(end - begin),
        ])  # fmt: skip

    def _within(self, begin: float, end: float) -> int:
        return int(np.searchsorted(self.onsets, end) - np.searchsorted(self.onsets, begin))

    def _borne_out(self, begin: float, end: float, steps: Sequence[Place]) -> float:
        """How well the onsets fit the inner places, on average."""
        whole = float(steps[-1].position - steps[0].position)
        width = WIDTH * (end - begin) / (len(steps) - 1)
        total = 0.0
        for place in steps[1:-1]:
            expected = begin + (end - begin) * float(place.position - steps[0].position) / whole
            near = slice(*np.searchsorted(self.onsets, (expected - 2.5 * width, expected + 2.5 * width)))
            best = NOTHING
            if place.signature in self.evidence:
                heard = self.evidence[place.signature][near, place.level]
                gain = GAIN.weight[place.level] * (heard + GAIN.offset[place.level])
                value = gain - 0.5 * ((self.onsets[near] - expected) / width) ** 2
                best = float(np.max(value, initial=NOTHING))
            total += best
        return min(total / (len(steps) - 2), CAP)


CAP = 3.0
"""One strong onset in the right place says no more than this."""


def smoothed(times: Floats, quarters: Floats) -> tuple[Floats, Floats]:
    """Middle of each step between taps, and the median log tempo of the steps around it.

    Parameters
    ----------
    times, quarters : (n,) float
        Seconds and score positions, ascending, at least two.
    """
    rates = [
        log(max(b - a, 1e-3) / (q - p)) for (a, b), (p, q) in zip(pairwise(times), pairwise(quarters), strict=True)
    ]
    tempo = [float(np.median(rates[max(0, i - AROUND) : i + AROUND + 1])) for i in range(len(rates))]
    return 0.5 * (times[1:] + times[:-1]), np.array(tempo)
