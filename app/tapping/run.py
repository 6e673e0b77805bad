"""The taps of a pass while it runs, as moments of the take."""

from __future__ import annotations

BOUNCE = 0.5
"""Seconds by which a tap can lie before the last one and come from elsewhere at the same time; where it is more,
the player has begun a loop again."""

FEWEST = 2
"""A round with fewer taps says nothing."""


class Run:
    """Gathers taps; every round of a loop is a pass of its own.

    Parameters
    ----------
    duration : float
        Of the take, seconds; a tap before its begin or after its end means nothing.
    """

    def __init__(self, duration: float) -> None:
        self._duration = duration
        self._rounds: list[list[float]] = [[]]

    @property
    def taps(self) -> tuple[float, ...]:
        """Those of the round that runs."""
        return tuple(self._rounds[-1])

    @property
    def passes(self) -> list[tuple[float, ...]]:
        """Those of every round that says something."""
        return [tuple(taps) for taps in self._rounds if len(taps) >= FEWEST]

    def add(self, time: float | None) -> bool:
        """Take in a tap, by the take time heard at it; say whether it counts."""
        if time is None or not 0 <= time <= self._duration:
            return False
        last = self._rounds[-1]
        if last and time <= last[-1]:
            if last[-1] - time < BOUNCE:
                return False
            self._rounds.append([time])
        else:
            last.append(time)
        return True
