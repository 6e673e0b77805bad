"""What the musician has said about a take: all that is saved, undone and done again."""

from __future__ import annotations

from dataclasses import dataclass

from core.grid import Pin
from core.metre import Metre, TimeSignature

COMMON_TIME = Metre.steady(TimeSignature(4, 4))
"""The metre of a document until another is proposed or chosen."""


@dataclass(frozen=True, slots=True, order=True)
class Section:
    """A named stretch of bars; it lasts until the next one begins.

    Parameters
    ----------
    bar : int
        Bar it begins with.
    name : str
        What the musician calls it.
    """

    bar: int
    name: str


@dataclass(frozen=True, slots=True)
class Document:
    """The frozen state of the work on one take. The suggested bars follow from it and the onsets alone.

    Parameters
    ----------
    metre : Metre
        Time signatures by bar number, and the pickup.
    pins : tuple of Pin
        Placed bar lines and beats, in order of time. Nothing moves them but the musician.
    holds : tuple of int
        Bars held long, which get extra beats so that their tempo stays near their neighbours'; ascending.
    free : tuple of int
        Bars without a pulse: both their ends are placed and their beats lie evenly between; ascending.
    sections : tuple of Section
        In order of bars.
    opening : float or None
        Log seconds of a quarter to start from while fewer than two lines are placed; None: as heard.
    """

    metre: Metre = COMMON_TIME
    pins: tuple[Pin, ...] = ()
    holds: tuple[int, ...] = ()
    free: tuple[int, ...] = ()
    sections: tuple[Section, ...] = ()
    opening: float | None = None

    @property
    def placed(self) -> frozenset[tuple[int, int]]:
        """Bar and beat of everything that is placed and numbered."""
        return frozenset((pin.bar, pin.beat) for pin in self.pins if pin.bar is not None)
