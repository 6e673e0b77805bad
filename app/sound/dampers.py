"""What the pedal does to a string whose key is up: the dampers lie on it, hang above it, or touch it a little."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.take import Message, MidiTake

LIFTED = 64
"""Controller value from which the pedal counts as down (MIDI 1.0, controller 64); below it dampers touch."""


@dataclass(frozen=True, slots=True, eq=False)
class Dampers:
    """Seconds for which the dampers of one channel have lain on the strings, added up from the start.

    Parameters
    ----------
    time : (n,) float
        Seconds at which the pedal moves, ascending; the first is far before the take.
    lain : (n,) float
        Seconds until then; with half the dampers' weight half of them count.
    touch : (n,) float
        0 to 1, how firmly they lie from then on.
    """

    time: Floats
    lain: Floats
    touch: Floats

    def until(self, time: Floats | float) -> Floats:
        """Seconds they have lain until a time."""
        at = np.asarray(time, dtype=np.float64)
        i = np.searchsorted(self.time, at, side="right") - 1
        return np.asarray(self.lain[i] + self.touch[i] * (at - self.time[i]))

    def when(self, lain: Floats) -> Floats:
        """Time at which they have lain so long; infinity where they never do."""
        i = np.minimum(np.searchsorted(self.lain, lain, side="right"), len(self.lain)) - 1
        # Lifted for a while at just that: it is reached when they go down again or before, the sum is the same.
        with np.errstate(divide="ignore", invalid="ignore"):
            more = np.where(self.touch[i] > 0, (lain - self.lain[i]) / self.touch[i], np.inf)
        return np.asarray(self.time[i] + np.where(lain <= self.lain[i], 0.0, more))


def dampers_of(take: MidiTake, channel: int, scale: float) -> Dampers:
    """Follow the pedal of a channel; `scale` is seconds as played for a second of the take."""
    moves = [(m.time * scale, m.data[2]) for m in take.messages if _pedal(m, channel)]
    time = np.array([-1e6, *(at for at, _ in moves)])
    value = np.array([0, *(value for _, value in moves)], dtype=np.float64)
    # Squared, as felt that only just touches takes little away.
    touch = np.maximum((LIFTED - value) / LIFTED, 0.0) ** 2
    lain = np.concatenate([[0.0], np.cumsum(np.diff(time) * touch[:-1])])
    return Dampers(time, lain, touch)


def _pedal(message: Message, channel: int) -> bool:
    data = message.data
    return len(data) == 3 and data[0] == 0xB0 | channel and data[1] == 64
