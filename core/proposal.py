"""What a take of which nothing was said seems to be."""

from __future__ import annotations

from dataclasses import dataclass

from core.grid import Grid
from core.metre import Metre


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a take seems to be, for the musician to accept or correct.

    Parameters
    ----------
    metre : Metre
        One time signature throughout.
    grid : Grid
        All bars in it.
    metre_confidence : float
        How sure the time signature is, 0 to 1.
    tempo_confidence : float
        How sure the length of a beat is, whatever the metre, 0 to 1.
    """

    metre: Metre
    grid: Grid
    metre_confidence: float
    tempo_confidence: float
