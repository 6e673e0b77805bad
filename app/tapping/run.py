"""The taps of a pass while it runs, as moments of the take."""

from __future__ import annotations

from statistics import median

from core.numbering import FASTEST, SLOWEST

BOUNCE = 0.5
"""Seconds by which a tap can lie before the last one and come from elsewhere at the same time; where it is more,
the player has begun a loop again."""

MOMENT = 0.05
"""Seconds by the clock over which the speed is looked at."""

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
        self._speeds: list[float] = []

    @property
    def taps(self) -> tuple[float, ...]:
        """Those of the round that runs."""
        return tuple(self._rounds[-1])

    @property
    def passes(self) -> list[tuple[float, ...]]:
        """Those of every round that says something."""
        return [tuple(taps) for taps in self._rounds if len(taps) >= FEWEST]

    @property
    def speed(self) -> float:
        """How fast the take is played, 1 where nobody knows."""
        return round(median(self._speeds), 3) if self._speeds else 1.0

    def add(self, time: float | None, before: float | None = None) -> bool:
        """Take in a tap; say whether it counts.

        Parameters
        ----------
        time : float or None
            Take time heard at it; None where nothing was.
        before : float or None
            Take time heard `MOMENT` seconds earlier, by which the speed is known.
        """
        if time is None or not 0 <= time <= self._duration:
            return False
        if before is not None and SLOWEST <= (speed := (time - before) / MOMENT) <= FASTEST:
            self._speeds.append(speed)
        last = self._rounds[-1]
        if last and time <= last[-1]:
            if last[-1] - time < BOUNCE:
                return False
            self._rounds.append([time])
        else:
            last.append(time)
        return True
