"""A line on its way while it is dragged: where it is, what it has snapped to, and that in words."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.sayings import offset
from app.state import Place

SNAP = 8.0
"""Pixels within which a dragged line snaps to an onset."""


@dataclass(frozen=True, slots=True)
class LineDrag:
    """One line in the hand.

    Parameters
    ----------
    place : (int, int)
        Bar and beat.
    origin : float
        Seconds at which it stood.
    low, high : float
        Seconds of its neighbours, which it does not pass.
    time : float
        Seconds at which it is now.
    onset : float or None
        Seconds of an onset close by.
    """

    place: Place
    origin: float
    low: float
    high: float
    time: float
    onset: float | None = None

    @classmethod
    def of(cls, place: Place, time: float, between: tuple[float, float]) -> LineDrag:
        """Take hold of a line."""
        return cls(place, time, between[0], between[1], time)

    def to(self, pointer: float, *, onset: float | None, within: float, least: float) -> LineDrag:
        """Move it.

        Parameters
        ----------
        pointer : float
            Seconds at which it would be without snapping.
        onset : float or None
            Seconds of the nearest onset, if one is close by.
        within : float
            Seconds from which it snaps to the onset; 0 for not at all.
        least : float
            Seconds it keeps from its neighbours.
        """
        # Where neighbours leave no room for `least` on both sides, it stays where it was.
        low, high = min(self.low + least, self.origin), max(self.high - least, self.origin)
        near = onset is not None and low <= onset <= high and abs(onset - pointer) <= within
        wanted = onset if near and onset is not None else pointer
        return replace(self, time=min(max(wanted, low), high), onset=onset)

    @property
    def moved(self) -> bool:
        """Whether it is anywhere else than at first."""
        return self.time != self.origin

    @property
    def snapped(self) -> bool:
        """Whether it is on the onset."""
        return self.time == self.onset

    @property
    def words(self) -> str:
        """How far it is from where it was, and from the onset."""
        moved = offset(self.time - self.origin)
        if self.onset is None:
            return moved
        if self.snapped:
            return f"{moved}, on the onset"
        apart = round(1000 * abs(self.time - self.onset))
        return f"{moved}, {apart} ms {'after' if self.time > self.onset else 'before'} the onset"
