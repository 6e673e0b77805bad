"""When an event truly happened: by the time stamp it bears, however late the window comes to handle it."""

from __future__ import annotations

import time
from collections.abc import Callable

DRIFT = 1e-4
"""By how much two clocks of a machine may go apart, seconds a second."""

LATE = 2.0
"""An event this many seconds later than any other has a time stamp of some other clock."""


class EventMoments:
    """Puts the time stamps of events, milliseconds on a clock nobody names, on the monotonic clock.

    Every event is handled a little after it happened, and the least delay seen is nearly none. So what matters is
    not when the clocks were started but the least difference between them.

    Parameters
    ----------
    now : callable
        The monotonic clock, seconds.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._least: float | None = None
        self._last = 0.0

    def moment(self, stamp: int) -> float:
        """Monotonic seconds at which an event with a time stamp happened; ask for it as soon as it is handled.

        Parameters
        ----------
        stamp : int
            Milliseconds; 0 for none.
        """
        arrived = self._now()
        if stamp <= 0:
            return arrived
        delay = arrived - stamp / 1000
        if self._least is not None:
            self._least += DRIFT * (arrived - self._last)
        if self._least is None or not 0 <= delay - self._least <= LATE:
            self._least = delay
        self._last = arrived
        return stamp / 1000 + self._least
