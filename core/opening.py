"""Where the first bar line lies and how fast the bars go, when the musician has not said."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence
from core.long_table import LongTable
from core.metre import TimeSignature
from core.onsets import Onsets
from core.pulse import pulse_of
from core.search import Steps, Table

BEATS = np.exp(np.arange(np.log(0.26), np.log(1.8), 0.2))
"""Lengths of a beat that are tried, in seconds."""

EXCERPT = 300
"""Onsets of each excerpt that is counted in every way."""

COMMON_BEAT, COMMON_SPREAD = 0.62, 0.5
"""Beats last about so many seconds, with this spread of the logarithm (measured on the ASAP performances)."""

SHARPNESS = 0.05
"""How much of a difference of score counts as log odds; neighbouring onsets do not speak independently."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One way to count a take from its start.

    Parameters
    ----------
    signature : TimeSignature
        Its metre.
    quarter : float
        Log seconds of a quarter.
    share : float
        How likely it is among the ways tried, 0 to 1.
    """

    signature: TimeSignature
    quarter: float
    share: float


def openings(
    onsets: Onsets,
    evidence: Evidence,
    signatures: Sequence[TimeSignature],
    costs: Costs,
    *,
    progress: Callable[[float], None] | None = None,
) -> list[Opening]:
    """Ways to count a take, the likeliest first.

    Each metre is tried at each length of a beat on excerpts of the take, with what is heard when nothing is
    supposed, and judged by the best score a search finds.

    Parameters
    ----------
    progress : callable, optional
        Told the share that is done, 0 to 1.
    """
    short = replace(costs, longest=4)
    heard = evidence.blind().evidence
    tried: list[tuple[float, TimeSignature, float]] = []
    for signature in signatures:
        beat_quarters = float(signature.quarters) / signature.beats
        for beat in BEATS:
            quarter = float(np.log(beat / beat_quarters))
            score = sum(
                _best(onsets.time[part], heard[part], signature, quarter, short) for part in _parts(onsets)
            )
            tempo = (np.log(beat / COMMON_BEAT) / COMMON_SPREAD) ** 2 / 2
            tried.append((SHARPNESS * score - tempo, signature, quarter))
            if progress is not None:
                progress(len(tried) / (len(signatures) * len(BEATS)))
    scores = np.array([score for score, _, _ in tried])
    shares = np.exp(scores - scores.max())
    shares /= shares.sum()
    order = np.argsort(-shares, kind="stable")
    return [Opening(tried[i][1], tried[i][2], float(shares[i])) for i in order]


def first_bar_line(long: LongTable) -> tuple[float, float]:
    """Time of the first bar line on the best way through a take, and log seconds of a quarter there."""
    table, _ = long.at(float(long.steps.time[0]) - 1.0)
    time = long.steps.time
    unit, tempo = np.unravel_index(int(np.argmax(table.score[0])), table.score[0].shape)
    quarter = float(table.steps.tempi[tempo])
    if unit == 0:
        return float(time[0]), quarter
    at, units = float(time[0]), int(unit)
    for step in long.read(at, units, quarter):
        units, before = units + step.units, units
        if units >= table.steps.pulse.units:
            # A bar line that the step passed over lies in proportion.
            share = (table.steps.pulse.units - before) / step.units
            return at + share * (float(time[step.node]) - at), step.quarter
        at = float(time[step.node])
    return at, quarter


def _parts(onsets: Onsets) -> list[slice]:
    n = len(onsets)
    if n <= 2 * EXCERPT:
        return [slice(0, n)]
    middle = n // 2
    return [slice(0, EXCERPT), slice(middle, middle + EXCERPT)]


def _best(time: Floats, heard: Floats, signature: TimeSignature, quarter: float, costs: Costs) -> float:
    steps = Steps(time, pulse_of(signature, float(np.exp(quarter))), quarter, costs)
    return float(Table(steps, heard).score[0].max())
