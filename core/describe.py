"""What is in a take, as plain values for people and scripts."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from core.read_audio import blocks, look
from core.take import AudioTake, MidiTake, Take

_WINDOW = 0.01
"""Seconds over which the level is followed to find where the sound starts and stops."""

_HEARD = 1e-3
"""Sound starts and stops 60 dB below the peak: below, a room or an instrument amplifier is heard rather than music
(common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiDescription:
    """A MIDI take in figures.

    Parameters
    ----------
    duration, first_sound, last_sound : float
        Seconds: of all, to the first note's start, to the last note's end.
    lowest, highest, softest, loudest : int
        Pitches as MIDI note numbers, and velocities.
    channels : tuple of int
        Channels with notes, counted from 1 as musicians do.
    pedal_presses : int
        How often the sustain pedal goes down.
    """

    kind: Literal["midi"] = field(default="midi", init=False)
    duration: float
    first_sound: float
    last_sound: float
    notes: int
    lowest: int
    highest: int
    softest: int
    loudest: int
    channels: tuple[int, ...]
    pedal_presses: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AudioDescription:
    """An audio take in figures.

    Parameters
    ----------
    duration, first_sound, last_sound : float
        Seconds: of all, to the first and to the last sound within 60 dB of the peak.
    format : str
        Short name of the file's format.
    rate, channels, frames : int
        Samples a second, channels, samples of each.
    peak_dbfs, rms_dbfs : float
        Decibels below full scale over all channels: the largest sample, and the root mean square.
    """

    kind: Literal["audio"] = field(default="audio", init=False)
    duration: float
    first_sound: float
    last_sound: float
    format: str
    rate: int
    channels: int
    frames: int
    peak_dbfs: float
    rms_dbfs: float


Description = MidiDescription | AudioDescription


def describe(take: Take) -> Description:
    """Tell what is in a take; an audio take is read through for it.

    Raises
    ------
    TakeError
        If an audio file cannot be read to its end or is silent.
    """
    return _midi(take) if isinstance(take, MidiTake) else _audio(take)


def _midi(take: MidiTake) -> MidiDescription:
    notes = take.notes
    return MidiDescription(
        duration=take.duration,
        first_sound=float(notes.start[0]),
        last_sound=float(notes.end.max()),
        notes=len(notes),
        lowest=int(notes.pitch.min()),
        highest=int(notes.pitch.max()),
        softest=int(notes.velocity.min()),
        loudest=int(notes.velocity.max()),
        channels=tuple(int(channel) + 1 for channel in np.unique(notes.channel)),
        pedal_presses=len(take.pedal()[0]),
    )


def _audio(take: AudioTake) -> AudioDescription:
    size = max(round(_WINDOW * take.rate), 1)
    peaks: list[float] = []
    power = 0.0
    for block in blocks(take, seconds=100 * size / take.rate):
        level = np.abs(np.ascontiguousarray(block.T)).max(axis=0)
        peaks += np.maximum.reduceat(level, np.arange(0, len(level), size)).tolist()
        power += float(np.sum(np.square(block, dtype=np.float64)))
    envelope = np.array(peaks)
    heard = np.flatnonzero(envelope >= _HEARD * envelope.max())
    mean = power / (take.frames * take.channels)
    return AudioDescription(
        duration=take.duration,
        first_sound=float(heard[0] * size / take.rate),
        last_sound=min(float((heard[-1] + 1) * size / take.rate), take.duration),
        format=look(take.path).form,
        rate=take.rate,
        channels=take.channels,
        frames=take.frames,
        peak_dbfs=20 * math.log10(envelope.max()),
        rms_dbfs=10 * math.log10(mean),
    )
