"""Frames on their way to the card: filled ahead by one thread, emptied by the card's own."""

from __future__ import annotations

from array import array

import numpy as np
from numpy.typing import NDArray

_ANCHORS = 64

_AGREES = 0.003
"""Seconds within which a card is of the same mind about when a frame is heard."""


class Ring:
    """A buffer of stereo frames, counted from its start without end.

    The card's thread does no more than copy and count: `pull` takes no lock, waits for nothing and makes nothing
    that is kept.

    Parameters
    ----------
    frames : int
        How many it holds.
    """

    def __init__(self, frames: int) -> None:
        self._data = np.zeros((frames, 2), dtype=np.float32)
        self._size = frames
        self.read = 0
        """Frames that have gone to the card."""
        self.written = 0
        """Frames that have been put in."""
        self.missed = 0
        """Frames the card wanted that were not there, while any were due."""
        self.asked = 0
        """Frames the card has asked for."""
        self.largest = 0
        """The most frames it has asked for at once."""
        self.due = False
        """Whether the card should find frames here."""
        self._given = 0
        self._counts = array("q", [0] * _ANCHORS)
        self._times = array("d", [0.0] * _ANCHORS)

    def pull(self, out: NDArray[np.float32], heard: float) -> None:
        """Give the card its next frames.

        Parameters
        ----------
        out : (n, 2) float32
            To be filled; silence where there is nothing.
        heard : float
            When the first of them will be heard, on the card's own clock.
        """
        count, read = len(out), self.read
        there = min(count, self.written - read)
        if there == count:
            slot = self._given % _ANCHORS
            self._counts[slot] = read
            self._times[slot] = heard
            self._given += 1
        self.asked += count
        self.largest = max(self.largest, count)
        start = read % self._size
        head = min(there, self._size - start)
        out[:head] = self._data[start : start + head]
        out[head:there] = self._data[: there - head]
        if there < count:
            out[there:] = 0.0
            if self.due:
                self.missed += count - there
        self.read = read + there

    def put(self, at: int, rows: NDArray[np.float32]) -> None:
        """Write frames from a place on; what was there is gone."""
        start = at % self._size
        head = min(len(rows), self._size - start)
        self._data[start : start + head] = rows[:head]
        self._data[: len(rows) - head] = rows[head:]
        self.written = max(self.written, at + len(rows))

    def get(self, at: int, count: int) -> NDArray[np.float32]:
        """Copy of frames that are still in it."""
        return self._data[(at + np.arange(count)) % self._size]

    def zero(self, rate: int) -> float | None:
        """When frame 0 was heard, on the card's clock and by its latest requests; None before there are any.

        Parameters
        ----------
        rate : int
            Frames a second.
        """
        given = self._given
        # The slots written next are left alone.
        slots = np.arange(max(given - _ANCHORS + 8, 0), given) % _ANCHORS
        if not len(slots):
            return None
        counts, times = np.array(self._counts, dtype=np.float64)[slots], np.array(self._times)[slots]
        zeros = times - counts / rate
        # After a gap frames are heard later than was thought: only what agrees with the last request counts.
        return float(np.median(zeros[np.abs(zeros - zeros[-1]) < _AGREES]))
