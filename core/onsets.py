"""What was heard, whichever way the take came in: the moments notes start, and what each looks like."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats, ascending

Source = Literal["midi", "audio"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Onsets:
    """Onsets of a take in take time; every array is read-only and has one entry an onset.

    An onset is a chord: notes that start together. A MIDI take gives its values from the notes, an audio
    take from the spectrum's rise at the attack, on the same scales, so that everything after is the same.

    Parameters
    ----------
    source : {"midi", "audio"}
        Where they come from; the weights of the tracker differ.
    duration : float
        Length of the take in seconds.
    time : (n,) float
        Seconds, ascending.
    strength : (n,) float
        Level of the attack in decibels (only differences matter).
    count : (n,) float
        Notes that start together (audio: an estimate from how many semitone bands rise).
    low, high : (n,) float
        Lowest and highest pitch that starts, in MIDI note numbers (audio: the edges of the rise).
    length : (n,) float
        Seconds the longest of its notes is held (audio: until it has decayed or is struck again).
    chroma : (n, 12) float
        Share of each pitch class in the attack, each row summing to 1.
    pedal_lift : (n,) float
        Seconds since the sustain pedal was last lifted, `inf` where never or not known.
    pedal_down : (n,) float
        Seconds until the sustain pedal is next pressed, `inf` where never or not known.
    """

    source: Source
    duration: float
    time: Floats
    strength: Floats
    count: Floats
    low: Floats
    high: Floats
    length: Floats
    chroma: Floats
    pedal_lift: Floats
    pedal_down: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "time", ascending(self.time, "Onset times"))
        for item in fields(self)[3:]:
            array: NDArray[np.float64] = np.array(getattr(self, item.name), dtype=np.float64)
            shape = (len(self.time), 12) if item.name == "chroma" else (len(self.time),)
            if array.shape != shape:
                raise ValueError(f"{item.name} has the shape {array.shape}, not {shape}.")
            array.setflags(write=False)
            object.__setattr__(self, item.name, array)

    def __len__(self) -> int:
        return len(self.time)
