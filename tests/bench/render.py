"""A take of any length for the speed bench: broken chords in free time, as MIDI and as plucked sound."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import mido
import numpy as np
import soundfile
from numpy.typing import NDArray

from core.checks import Floats

RATE = 44_100
RING = 1.5
"""Seconds a plucked note sounds."""

FIGURE = (0, 7, 12, 16, 19, 16, 12, 7)
"""A bar of eighth notes, semitones above its root."""

ROOTS = (36, 41, 43, 45, 38, 43, 40, 36)

Notes = tuple[Floats, NDArray[np.int64], NDArray[np.int64]]
"""Starts in seconds, pitches and velocities."""


def compose(seconds: float, *, seed: int = 0) -> Notes:
    """Broken chords in 4/4 whose bars take 2 to 3 s, the first note of each the deepest and loudest."""
    random = np.random.default_rng(seed)
    starts: list[float] = []
    pitches: list[int] = []
    velocities: list[int] = []
    bar, time, length = 0, 0.5, 2.4
    while time + length < seconds:
        at = time + length * (np.arange(8) / 8 + random.normal(0, 0.002, 8))
        root = ROOTS[bar % len(ROOTS)]
        starts += at.tolist()
        pitches += [root + step for step in FIGURE]
        velocities += [96, *random.integers(48, 72, 7).tolist()]
        bar, time = bar + 1, time + length
        length = float(np.clip(length * np.exp(random.normal(0, 0.05)), 2.0, 3.0))
    return np.array(starts), np.array(pitches), np.array(velocities)


def write_midi(path: Path, notes: Notes) -> None:
    """Write the notes as a MIDI take, one tick a millisecond."""
    events = []
    for start, pitch, velocity in zip(*notes, strict=True):
        events.append((round(start * 1000), "note_on", int(pitch), int(velocity)))
        events.append((round(start * 1000) + 400, "note_off", int(pitch), 0))
    track, now = mido.MidiTrack(), 0
    for tick, kind, pitch, velocity in sorted(events):
        track.append(mido.Message(kind, note=pitch, velocity=velocity, time=tick - now))
        now = tick
    mido.MidiFile(type=0, tracks=[track], ticks_per_beat=500).save(path)


def write_audio(path: Path, notes: Notes, seconds: float) -> None:
    """Write the notes as 16-bit stereo at 44.1 kHz, a few seconds at a time."""
    with soundfile.SoundFile(path, "w", samplerate=RATE, channels=2, subtype="PCM_16") as file:
        for block in _sound(notes, seconds):
            file.write(block)


def _sound(notes: Notes, seconds: float, *, block: int = 10 * RATE) -> Iterator[NDArray[np.float32]]:
    plucks = {int(pitch): _pluck(int(pitch)) for pitch in np.unique(notes[1])}
    frames = np.round(notes[0] * RATE).astype(np.int64)
    buffer = np.zeros((block + int(RING * RATE), 2), dtype=np.float32)
    for begin in range(0, int(seconds * RATE), block):
        for i in range(*np.searchsorted(frames, [begin, begin + block]).tolist()):
            at, sound = frames[i] - begin, plucks[int(notes[1][i])]
            buffer[at : at + len(sound)] += sound * np.float32((notes[2][i] / 127) ** 2)
        yield buffer[: min(block, int(seconds * RATE) - begin)].copy()
        buffer[:-block] = buffer[block:]
        buffer[-block:] = 0


def _pluck(pitch: int) -> NDArray[np.float32]:
    time = np.arange(int(RING * RATE)) / RATE
    frequency = 440 * 2 ** ((pitch - 69) / 12)
    partials = [np.sin(2 * np.pi * n * frequency * time) * np.exp(-2.5 * n**0.5 * time) / n for n in range(1, 9)]
    mono = 0.2 * np.sum(partials, axis=0) * np.minimum(1, time / 0.002) * np.minimum(1, (RING - time) / 0.05)
    pan = (pitch - 36) / 48
    return np.column_stack([mono * (1 - pan / 2), mono * (0.5 + pan / 2)]).astype(np.float32)
