"""What bar lines look like in this take: learned from those tapped, for those that were not.

Where the music is syncopated the networks hear bar lines in the wrong place all along; the onsets under the taps
say so, and onsets that play the same part lie near each other in what the networks make of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.evidence import Heard
from core.metre import Metre, TimeSignature
from core.pulse import BAR
from core.way import Mark, place_of

FEWEST = 8
"""With fewer tapped bar lines on onsets nothing is learned."""

PRECISION = 4.0
"""Of the prior that the networks are right, against what is learned about each direction."""

STEPS = 8
"""Of Newton's method."""

UNSURE = 0.15
"""Share of a stretch about each bar line in it that was not tapped: of the onsets there nothing is known."""

BESIDE = 0.02
"""Onsets nearer than this many seconds to a line sound with it."""

ODDS = 3.0
"""Spread of the networks' log odds, to give them the weight of the other directions."""


def learned(
    heard: Mapping[TimeSignature, Heard], time: Floats, known: Sequence[Mark], metre: Metre
) -> dict[TimeSignature, Floats]:
    """Evidence after it was seen which onsets are bar lines and which are not.

    Parameters
    ----------
    heard : mapping of TimeSignature to Heard
        What the networks make of all onsets.
    time : (n,) float
        Onset times in seconds.
    known : sequence of Mark
        Bar lines that were tapped or placed, in order.

    Returns
    -------
    dict of TimeSignature to (n, 3) float
        The evidence, that for bar lines corrected by a logistic regression with a Gaussian prior.
    """
    lines = {signature: np.zeros(len(time), dtype=np.bool_) for signature in heard}
    others = {signature: np.zeros(len(time), dtype=np.bool_) for signature in heard}
    for mark in known:
        signature = metre.at(place_of(metre, mark.position)[0])
        if signature in heard:
            lines[signature] |= np.abs(time - mark.time) < 1e-6
    for begin, end in pairwise(known):
        signature = metre.at(place_of(metre, begin.position)[0])
        if signature in heard:
            inside = (time > begin.time + BESIDE) & (time < end.time - BESIDE)
            for moment in _between(begin, end, metre):
                inside &= np.abs(time - moment) >= UNSURE * (end.time - begin.time)
            others[signature] |= inside
    return {
        signature: _corrected(one, np.flatnonzero(lines[signature]), np.flatnonzero(others[signature]))
        for signature, one in heard.items()
    }


def _between(begin: Mark, end: Mark, metre: Metre) -> Iterable[float]:
    """Where the bar lines between two known ones would lie at an even tempo."""
    first, _ = place_of(metre, begin.position)
    quarters = float(end.position - begin.position)
    bar = first + 1
    while (position := metre.quarter_of(bar)) < end.position:
        yield begin.time + float(position - begin.position) / quarters * (end.time - begin.time)
        bar += 1


def _corrected(heard: Heard, lines: NDArray[np.int64], others: NDArray[np.int64]) -> Floats:
    if len(lines) < FEWEST or not len(others):
        return heard.evidence
    unit, beat, bar = heard.evidence.T
    odds = bar - np.logaddexp(0.0, np.logaddexp(unit, beat))
    features = np.column_stack([np.ones(len(odds)), odds / ODDS, heard.inside])
    which = np.concatenate([lines, others])
    label = np.repeat([1.0, 0.0], [len(lines), len(others)])
    corrected = heard.evidence.copy()
    corrected[:, BAR] += features @ _fitted(features[which], odds[which], label)
    return corrected


def _fitted(features: Floats, odds: Floats, label: Floats) -> Floats:
    """Weights that, added to known odds, tell lines from others best, small ones for want of evidence."""
    weights = np.zeros(features.shape[1])
    for _ in range(STEPS):
        share = 1.0 / (1.0 + np.exp(-np.clip(odds + features @ weights, -30.0, 30.0)))
        slope = features.T @ (share - label) + PRECISION * weights
        curve = (features * (share * (1.0 - share))[:, None]).T @ features + PRECISION * np.eye(len(weights))
        weights = weights - np.linalg.solve(curve, slope)
    return weights
