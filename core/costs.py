"""What the search pays and gains: a dozen numbers, set on performances whose bar lines are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.pulse import Pulse


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """Weights of the search.

    Parameters
    ----------
    sigma, sigma_power : float
        Spread of the log length of a unit against the tempo; over m units it is sigma * m ** -sigma_power.
    keep : float
        Share of the old tempo kept over each unit.
    huber : float
        Departures beyond this many spreads cost linearly.
    pull : float
        Stiffness towards the tempo of the last bars, per natural logarithm.
    skip : (float, float, float)
        Cost of a unit, beat or bar line without an onset.
    pause : float
        Cost of a silence that is no part of the tempo.
    weight, offset : (float, float, float)
        For unit, beat and bar line: the gain of landing on an onset is weight * (evidence + offset). The
        offsets make up for how rare each is among all onsets.
    inner_weight : float
        Weight of where onsets fall inside a unit.
    longest : int
        Most units in one step.
    """

    sigma: float = 0.10
    sigma_power: float = 0.25
    keep: float = 0.3
    huber: float = 3.0
    pull: float = 4.0
    skip: tuple[float, float, float] = (0.7, 1.5, 5.0)
    pause: float = 6.0
    weight: tuple[float, float, float] = (0.7, 0.7, 0.8)
    offset: tuple[float, float, float] = (1.0, 1.5, 2.5)
    inner_weight: float = 0.5
    longest: int = 8

    def gain(self, evidence: Floats) -> Floats:
        """Gain of landing on each onset as unit, beat or bar line, shape (n, 3)."""
        return np.asarray((evidence + np.array(self.offset)) * np.array(self.weight), dtype=np.float64)

    def inner(self, pulse: Pulse) -> Floats:
        """How often onsets fall in each 24th of a unit, relative to evenly."""
        if len(set(pulse.signature.groups)) > 1:
            return np.ones(24)
        return INNER.get((pulse.signature.compound, pulse.division), np.ones(24))


def _inner(text: str) -> Floats:
    return np.array([float(x) for x in text.split()]) / 100


# Counted on the ASAP performances (piano, classical): places of the onsets inside a unit, in 24ths.
INNER = {
    (False, 1): _inner("15 39 54 66 86 132 130 126 114 113 142 206 194 111 95 132 126 143 125 89 64 39 45 14"),
    (False, 2): _inner("8 56 82 84 88 91 110 116 121 116 145 190 185 134 125 122 111 103 87 91 84 90 55 7"),
    (False, 4): _inner(
        "3 30 108 127 132 112 105 110 120 107 124 121 123 116 113 107 107 115 118 120 127 113 36 5"
    ),
    (True, 1): _inner("16 30 30 75 56 35 81 313 256 92 61 99 84 79 170 354 221 72 37 104 55 25 33 23"),
    (True, 3): _inner("11 77 130 105 88 74 69 69 71 114 189 244 161 89 75 63 74 89 94 103 145 158 95 13"),
    (True, 6): _inner("2 43 119 158 116 123 82 85 75 101 101 108 69 95 98 107 114 104 108 204 210 124 53 2"),
}
