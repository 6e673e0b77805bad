"""What was recorded, as values: a MIDI take with its notes, or an audio take known by its file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Notes:
    """Notes of a MIDI take in order of their start; every array is read-only, one entry a note.

    Parameters
    ----------
    start, end : (n,) float
        Seconds of recording time at which the key goes down and up (the pedal is not worked in).
    pitch, velocity, channel : (n,) int
        MIDI note number, velocity 1 to 127, channel 0 to 15.
    """

    start: Floats
    end: Floats
    pitch: Ints
    velocity: Ints
    channel: Ints

    def __len__(self) -> int:
        return len(self.start)


@dataclass(frozen=True, slots=True, order=True)
class Message:
    """A channel message other than a note (pedal, bend, program, pressure), as its MIDI bytes."""

    time: float
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MidiTake:
    """A take that came as a Standard MIDI File; times in seconds of recording time."""

    path: Path
    duration: float
    notes: Notes
    messages: tuple[Message, ...]

    def pedal(self) -> tuple[Floats, Floats]:
        """Times in seconds at which the sustain pedal (controller 64) goes down, and at which it is lifted."""
        down: list[float] = []
        lift: list[float] = []
        held: dict[int, bool] = {}
        for message in self.messages:
            status, control = message.data[0], message.data[1]
            if status & 0xF0 == 0xB0 and control == 64:
                channel, pressed = status & 0x0F, message.data[2] >= 64
                if pressed != held.get(channel, False):
                    (down if pressed else lift).append(message.time)
                held[channel] = pressed
        return np.array(down, dtype=np.float64), np.array(lift, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class AudioTake:
    """A take that came as an audio file. The samples stay in the file and are read in blocks."""

    path: Path
    duration: float
    rate: int
    channels: int
    frames: int


Take = MidiTake | AudioTake
