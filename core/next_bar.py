"""The next bar: where its end is, its beats, how sure that is and where else it could end."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from core.between import Count, between
from core.checks import Floats
from core.chooser import Chooser
from core.long_table import LongTable
from core.next_line import Past, Reading, features, places
from core.pace import tempo_after
from core.pulse import BAR
from core.ranking import APART, MOST, Judged

Inner = tuple[tuple[Fraction, float], ...]
"""Places inside a bar, in quarters from its line, and their seconds."""


@dataclass(frozen=True, slots=True)
class NextBar:
    """A suggested bar.

    Parameters
    ----------
    inner : tuple of (Fraction, float)
        Places inside it that lie on an onset: quarters from its line, and seconds.
    end : float
        Seconds of the bar line that ends it.
    judged : Judged
        How sure that line is.
    """

    inner: Inner
    end: float
    judged: Judged


def next_bar(reading: Reading, chooser: Chooser, past: Past) -> NextBar | None:
    """Suggest the bar after the last line, or None where the search sees none before the take ends."""
    inner, searched = searched_bar(reading.own, past)
    if searched is None:
        return None
    here = places(reading.onsets, past, searched)
    if not len(here.time):
        return NextBar(inner, searched, Judged(0.0, ()))
    share = np.exp(chooser(features(reading, past, here, searched)))
    # Places that are the same to a musician vote together.
    same = np.abs(here.time[:, None] - here.time) <= APART
    together: Floats = np.where(same, share, 0.0).sum(axis=1)
    order = np.argsort(-together, kind="stable")
    near = np.flatnonzero(same[order[0]])
    end = float(here.time[near[share[near].argmax()]])
    if end != searched:
        inner = _counted(reading, past, end)
    return NextBar(inner, end, Judged(min(float(together[order[0]]), 1.0), _others(here.time[order], end)))


def searched_bar(table: LongTable, past: Past) -> tuple[Inner, float | None]:
    """The bar that the search suggests; no end where it stops before."""
    units, quarters = table.steps.pulse.units, table.steps.pulse.unit_quarters
    unit, before = 0, past.lines[-1]
    inner: list[tuple[Fraction, float]] = []
    for step in table.read(before, 0, tempo_after(past.lengths)):
        time = float(table.steps.time[step.node])
        if unit + step.units >= units:
            # A bar line that the step passes over lies in proportion.
            return tuple(inner), before + (units - unit) / step.units * (time - before)
        unit, before = unit + step.units, time
        inner.append((unit * quarters, time))
    return tuple(inner), None


def _counted(reading: Reading, past: Past, end: float) -> Inner:
    """The beats of a bar whose end is not the one searched."""
    pulse, costs = reading.own.steps.pulse, reading.own.steps.costs
    gain = costs.gain(reading.heard.evidence)
    quarters: Floats = np.arange(pulse.units + 1, dtype=np.float64) * float(pulse.unit_quarters)
    count = Count(quarters, np.array([*pulse.levels, BAR]), [gain] * len(quarters))
    begin = past.lines[-1]
    _, way = between(reading.onsets.time, count, begin, end, tempo_after(past.lengths), costs)
    return tuple((unit * pulse.unit_quarters, time) for unit, time in way[1:-1])


def _others(ranked: Floats, end: float) -> tuple[float, ...]:
    """The likeliest places that are neither the end nor one another."""
    others: list[float] = []
    for time in ranked.tolist():
        if all(abs(time - taken) > APART for taken in (end, *others)):
            others.append(time)
            if len(others) == MOST:
                break
    return tuple(others)
