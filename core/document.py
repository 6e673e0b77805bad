"""What the musician has said about a take: all that is saved, undone and done again."""

from __future__ import annotations

from dataclasses import dataclass

from core.arrangement import AS_PLAYED, Arrangement
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.repairs import Repair

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
    look : int or None
        Number of the colour and pattern chosen for it; None: the one that goes with its name.
    """

    bar: int
    name: str
    look: int | None = None


@dataclass(frozen=True, slots=True)
class TapPass:
    """One pass of taps along the take, as it was tapped.

    Parameters
    ----------
    times : tuple of float
        The moments tapped, seconds of take time, ascending.
    every : int
        A bar line every so many bars was tapped; 0: every beat.
    bar, beat : int
        What the first tap was meant for.
    speed : float
        How fast the take was played meanwhile, 1 as it was recorded: who taps early does so by the clock.
    placed : tuple of float
        Times of the lines that were placed from it. While one stands there, a later pass over it may place it
        anew: the musician has asked for that by tapping it again.
    open : bool
        Whether its lines wait to be placed or dropped.
    """

    times: tuple[float, ...]
    every: int = 1
    bar: int = 1
    beat: int = 1
    speed: float = 1.0
    placed: tuple[float, ...] = ()
    open: bool = True


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
    taps : tuple of TapPass
        In the order in which they were tapped. No bar follows from them until their lines are placed.
    arrangement : Arrangement
        What is heard of the recording. Everything else is said in recording time, so that it stays on its music.
    repairs : tuple of Repair
        Notes that are not heard as they were played, in order of their places in the recording.
    """

    metre: Metre = COMMON_TIME
    pins: tuple[Pin, ...] = ()
    holds: tuple[int, ...] = ()
    free: tuple[int, ...] = ()
    sections: tuple[Section, ...] = ()
    opening: float | None = None
    taps: tuple[TapPass, ...] = ()
    arrangement: Arrangement = AS_PLAYED
    repairs: tuple[Repair, ...] = ()

    @property
    def placed(self) -> frozenset[tuple[int, int]]:
        """Bar and beat of everything that is placed and numbered."""
        return frozenset((pin.bar, pin.beat) for pin in self.pins if pin.bar is not None)
