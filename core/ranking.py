"""Where else a bar line could be, and how sure the suggestion is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.long_table import LongTable

APART = 0.050
"""Places nearer than this are the same bar line to a musician, in seconds."""

TEMPERATURE = 3.0
"""Scores are divided by this to be read as log odds; set so that of lines said to be p sure, p are right."""

MOST = 4
"""Alternatives given for a bar line."""


@dataclass(frozen=True, slots=True)
class Line:
    """A suggested bar line and what its bar began from.

    Parameters
    ----------
    before, time : float
        Seconds of the bar line before it and of its own.
    tempo : float
        Log seconds of a quarter in the bars before.
    """

    before: float
    time: float
    tempo: float


@dataclass(frozen=True, slots=True)
class Judged:
    """How sure a bar line is, 0 to 1, and the seconds of its alternatives, the likelier first."""

    confidence: float
    alternatives: tuple[float, ...]


def judge(long: LongTable, line: Line) -> Judged:
    """Judge a suggested bar line by what a table says of the other onsets it could lie on.

    Parameters
    ----------
    long : LongTable
        Of the metre and tempo the line was suggested in.
    """
    table, _ = long.at(line.before)
    steps = table.steps
    time, costs = steps.time, steps.costs
    bar = float(steps.pulse.signature.quarters)
    expected = bar * float(np.exp(line.tempo))
    ratio = (line.time - line.before) / expected
    low, high = min(0.6, 0.9 * ratio), max(1.6, 1.1 * ratio)
    first, last = np.searchsorted(time, [line.before + low * expected, line.before + high * expected])
    here = np.arange(first, last)
    if not len(here):
        return Judged(0.0, ())
    off = np.log((time[here] - line.before) / bar) - line.tempo
    cost = np.abs(off) / (costs.sigma * steps.pulse.units**-costs.sigma_power)
    after = line.tempo + 0.5 * off
    tempo = np.clip(np.rint((after - steps.tempi[0]) / steps.bin), 0, len(steps.tempi) - 1).astype(np.int64)
    score = table.gain[here, 0] + table.score[here, 0, tempo] - cost
    return _judged(time[here], score, line.time)


def _judged(time: Floats, score: Floats, chosen: float) -> Judged:
    own = np.abs(time - chosen) <= APART
    odds = np.exp((score - score.max()) / TEMPERATURE)
    share = float(odds[own].max(initial=0.0) / (odds[own].max(initial=0.0) + odds[~own].sum()))
    places: list[float] = []
    for i in np.argsort(-score, kind="stable"):
        if not own[i] and all(abs(time[i] - place) > APART for place in places):
            places.append(float(time[i]))
            if len(places) == MOST:
                break
    return Judged(share, tuple(places))
