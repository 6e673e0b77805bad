"""How a bar is counted by the search: equal units, some of which are beats and one the bar line."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from core.metre import TimeSignature

UNIT = 0.5
"""Seconds a unit should last: near the rate at which people tap best (Fraisse 1982, from memory)."""

SUB, BEAT, BAR = 0, 1, 2
"""Levels of a unit."""


@dataclass(frozen=True, slots=True)
class Pulse:
    """The units of a bar.

    Parameters
    ----------
    signature : TimeSignature
        The bar counted.
    division : int
        Units in each of the shortest steps all beats are made of.
    levels : tuple of int
        `BAR` for the first unit, `BEAT` for those that open a beat, `SUB` for the others.
    """

    signature: TimeSignature
    division: int
    levels: tuple[int, ...]

    @property
    def units(self) -> int:
        """Units in a bar."""
        return len(self.levels)

    @property
    def unit_quarters(self) -> Fraction:
        """Length of a unit in quarters."""
        return self.signature.quarters / len(self.levels)

    def mirrored(self) -> Pulse:
        """The same bar counted backwards from its end."""
        return replace(self, levels=self.levels[:1] + self.levels[:0:-1])

    @property
    def beat_units(self) -> tuple[int, ...]:
        """The unit on which each beat starts."""
        return tuple(unit for unit, level in enumerate(self.levels) if level != SUB)


@lru_cache(maxsize=256)
def pulse_of(signature: TimeSignature, quarter: float) -> Pulse:
    """Count a bar in units as near to half a second as its beats allow.

    Parameters
    ----------
    quarter : float
        Seconds a quarter lasts.
    """
    groups = signature.groups
    even = len(set(groups)) == 1
    # Beats of equal length divide as their metre does; unequal ones share only the denominator's note.
    step = groups[0] if even else 1
    divisions = (1, 2) if not even else (1, 3, 6) if step == 3 else (1, 2, 4)
    seconds = quarter * 4 * step / signature.denominator
    division = min(divisions, key=lambda d: abs(math.log(seconds / d / UNIT)))
    levels: list[int] = []
    for group in groups:
        levels += [BEAT] + [SUB] * (division * (1 if even else group) - 1)
    levels[0] = BAR
    return Pulse(signature, division, tuple(levels))
