"""Where a cut is heard least: in sound at the quietest place near, in notes where no key and no pedal moves."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from core.checks import Floats
from core.heard import Heard
from core.take import MidiTake

STEP = 0.005
"""Seconds between places that are tried."""

QUIET = 1.25
"""Nobody hears a place as louder that has so many times the level of the quietest (2 dB)."""

WINDOW = 0.03
"""Seconds of sound around a cut that are weighed; longer than its cross-fade."""

_NEAR = 0.05


class Loudness(Protocol):
    """How much there is to be heard around moments of a recording."""

    def at(self, times: Floats) -> Floats:
        """Level around each moment, on any scale on which less is quieter; (n,) for (n,) seconds."""


class SoundLevel:
    """Level of sound, in amplitude."""

    def __init__(self, sound: Heard) -> None:
        self._sound = sound

    def at(self, times: Floats) -> Floats:
        """Root mean square of the window around each moment."""
        if not len(times):
            return np.zeros(0)
        rate, half = self._sound.rate, round(WINDOW / 2 * self._sound.rate)
        centres = np.rint(times * rate).astype(np.int64)
        first = int(centres.min()) - half
        block = self._sound.read(first, int(centres.max()) + half + 1).astype(np.float64)
        power = np.concatenate(([0.0], np.cumsum((block**2).mean(axis=1))))
        at = centres - first
        return np.asarray(np.sqrt(np.maximum(power[at + half] - power[at - half], 0.0) / (2 * half)))


class NoteLevel:
    """Key and pedal movements near a moment, each counting the more the nearer it is."""

    def __init__(self, take: MidiTake) -> None:
        pedal = [message.time for message in take.messages if message.data[0] & 0xF0 == 0xB0]
        moves = np.concatenate((take.notes.start, take.notes.end, pedal))
        self._times = np.sort(moves)
        self._starts = np.sort(take.notes.start)

    def at(self, times: Floats) -> Floats:
        """Nearness of the nearest movement within a twentieth of a second, 0 to 1; a key going down counts ten."""
        return _nearness(self._times, times) + 10 * _nearness(self._starts, times)


def quietest(level: Loudness, moments: tuple[float, ...], low: float, high: float) -> float:
    """Find by how much to shift some moments together so that all of them lie in quiet places.

    Parameters
    ----------
    level : Loudness
    moments : tuple of float
        Seconds; the ends of what is cut, so that its length stays.
    low, high : float
        Least and greatest shift in seconds.

    Returns
    -------
    float
        The shift; of several as quiet, the one nearest to the middle.
    """
    count = max(int((high - low) / STEP), 1)
    shifts = np.linspace(low, high, count + 1)
    total = np.sum([level.at(moment + shifts) for moment in moments], axis=0)
    quiet = shifts[total <= QUIET * total.min() + 1e-9]
    return float(quiet[np.argmin(np.abs(quiet - (low + high) / 2))])


def _nearness(events: Floats, times: Floats) -> Floats:
    if not len(events):
        return np.zeros(len(times))
    at = np.searchsorted(events, times)
    apart = np.minimum(
        np.abs(times - events[np.minimum(at, len(events) - 1)]), np.abs(times - events[np.maximum(at - 1, 0)])
    )
    return np.asarray(np.maximum(1 - apart / _NEAR, 0.0))
