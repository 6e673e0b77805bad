"""Notes moved towards the grid by a part of the way."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np

from core.checks import Floats
from core.session import Session
from core.take import Notes

Unit = Literal["1/4", "1/8", "1/8t", "1/16", "1/16t", "1/32"]
"""A note value; ``t`` for one of three in the time of two."""

UNITS: dict[Unit, Fraction] = {
    "1/4": Fraction(1),
    "1/8": Fraction(1, 2),
    "1/8t": Fraction(1, 3),
    "1/16": Fraction(1, 4),
    "1/16t": Fraction(1, 6),
    "1/32": Fraction(1, 8),
}
"""Quarters of each."""


@dataclass(frozen=True, slots=True)
class Timing:
    """How notes lie in the bars.

    Parameters
    ----------
    strength : float
        Part of the way from where a note was played to the nearest place of the grid, 0 (exactly as played) to 1.
    unit : str
        Distance of the grid's places, counted from each bar line.
    """

    strength: float = 0.0
    unit: Unit = "1/16"


EXACT = Timing()
"""As played."""


def shifts(notes: Notes, quarters: Floats, session: Session, timing: Timing) -> Floats:
    """How far each note is to be moved.

    Of several notes of one pitch that are nearest to the same place only the nearest goes there; the others stay
    as they were played, so that repeated notes neither melt into one nor change their order.

    Parameters
    ----------
    notes : Notes
    quarters : (n,) float
        Session quarters at which they start.
    session : Session
        Whose bar lines the grid is counted from.
    timing : Timing

    Returns
    -------
    (n,) float
        Quarters to be added.
    """
    way = _places(quarters, session, UNITS[timing.unit]) - quarters
    target = quarters + way
    keys = list(zip(notes.channel.tolist(), notes.pitch.tolist(), np.round(target, 6).tolist(), strict=True))
    nearest: dict[tuple[int, int, float], int] = {}
    for i, key in enumerate(keys):
        if key not in nearest or abs(way[i]) < abs(way[nearest[key]]):
            nearest[key] = i
    goes = np.array([way[i] == way[nearest[key]] for i, key in enumerate(keys)], dtype=bool)
    return np.where(goes, timing.strength * way, 0.0)


def _places(quarters: Floats, session: Session, unit: Fraction) -> Floats:
    """The place of the grid nearest to each score position."""
    lines = np.array([float(line) for line in session.bar_quarters])
    bar = np.clip(np.searchsorted(lines, quarters, side="right") - 1, 0, len(lines) - 1)
    begin = lines[bar]
    step = float(unit)
    place = begin + step * np.rint((quarters - begin) / step)
    # A bar that is no whole number of units ends with a shorter one.
    following = np.append(lines[1:], np.inf)[bar]
    return np.where(
        np.abs(following - quarters) <= np.abs(place - quarters), following, np.minimum(place, following)
    )
