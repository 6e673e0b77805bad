"""Stretches of performances as many instruments would sound them, to fit the hearing of pitches on.

A stretch of a performance is cut from its recording, played by an instrument of a General MIDI soundfont, or
plucked on strings made here whose brightness, decay, stiffness and attack are drawn anew each time; but for the
recordings it is also transposed. Half of all stretches get a noise floor.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from scipy.signal import resample_poly

from core.checks import Floats
from core.errors import InputError
from core.read_midi import read_midi
from core.spectrum import RATE, Float32, Ints
from core.take import MidiTake
from tests.bench.corpus import Performance
from tests.bench.listen import recording_of

SECONDS = 45.0
RECORDED, SAMPLED, PLUCKED = 4, 4, 3
"""Stretches of each kind from a performance."""

PROGRAMS = (0, 1, 2, 3, 4, 5, 6, 7, 11, 12, 24, 24, 25, 25, 26, 27, 28, 30, 45, 46)
"""General MIDI programs, from 0: pianos, mallets, guitars (the acoustic ones twice), plucked strings."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound:
    """A stretch of sound at `RATE` and what was struck in it; times in seconds from its first sample."""

    samples: Float32
    start: Floats
    pitch: Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Played:
    start: Floats
    end: Floats
    pitch: Ints
    velocity: Ints


def sounds(performance: Performance, audio: Path, *, seed: int) -> Iterator[Sound]:
    """Yield `RECORDED`, `SAMPLED` and `PLUCKED` stretches of one performance, the same for the same seed."""
    random = np.random.default_rng(seed)
    played = _played(read_midi(performance.midi))
    recording = recording_of(performance, audio)
    kinds = ["recorded"] * RECORDED + ["sampled"] * SAMPLED + ["plucked"] * PLUCKED
    for kind in kinds:
        begin = random.uniform(0, max(0.0, float(played.start[-1]) - SECONDS))
        if kind == "recorded":
            begin = round(begin, 2)
            samples, notes = _cut(recording, begin), _within(played, begin, transposed=0, before=3.0)
        else:
            notes = _within(played, begin, transposed=int(random.integers(-7, 6)))
            if len(notes.start) == 0:
                continue
            samples = (
                _sampled(notes, int(random.choice(PROGRAMS))) if kind == "sampled" else _plucked(notes, random)
            )
        samples = 0.9 * samples / max(float(np.abs(samples).max()), 1e-9)
        if random.random() < 0.5:
            samples = samples + random.standard_normal(len(samples)) * 10 ** (random.uniform(-80, -45) / 20)
        yield Sound(samples=samples.astype(np.float32), start=notes.start, pitch=notes.pitch)


def _played(take: MidiTake) -> _Played:
    """Notes that last while the pedal is down, and until their key is struck again at most."""
    notes, (down, lift) = take.notes, take.pedal()
    last = np.searchsorted(down, notes.end, side="right") > np.searchsorted(lift, notes.end, side="right")
    next_lift = np.append(lift, notes.end.max())[np.searchsorted(lift, notes.end, side="right")]
    end = np.where(last, np.maximum(notes.end, next_lift), notes.end)
    for key in np.unique(notes.pitch):
        same = np.flatnonzero(notes.pitch == key)
        end[same[:-1]] = np.minimum(end[same[:-1]], notes.start[same[1:]])
    return _Played(start=notes.start, end=end, pitch=notes.pitch, velocity=notes.velocity)


def _within(played: _Played, begin: float, *, transposed: int, before: float = 0.0) -> _Played:
    mine = (played.start >= begin - before) & (played.start < begin + SECONDS)
    return _Played(
        start=played.start[mine] - begin,
        end=played.end[mine] - begin,
        pitch=np.clip(played.pitch[mine] + transposed, 28, 105) if transposed else played.pitch[mine],
        velocity=played.velocity[mine],
    )


def _cut(recording: Path, begin: float) -> Floats:
    with soundfile.SoundFile(recording) as file:
        file.seek(round(begin * file.samplerate))
        samples = file.read(round(SECONDS * file.samplerate), always_2d=True).mean(axis=1)
        return np.asarray(resample_poly(samples, RATE, file.samplerate))


def _sampled(notes: _Played, program: int) -> Floats:
    rate = 2 * RATE
    synth = _synth(program, rate)
    events = [(time, 1, i) for i, time in enumerate(notes.start)] + [(t, 0, i) for i, t in enumerate(notes.end)]
    parts, now = [np.zeros((0, 2), np.float32)], 0
    for time, on, i in sorted(events):
        frame = round(min(time, SECONDS + 1) * rate)
        if frame > now:
            parts.append(np.frombuffer(synth.generate(frame - now), np.float32).reshape(-1, 2).copy())
            now = frame
        if on:
            synth.noteon(0, int(notes.pitch[i]), int(notes.velocity[i]))
        else:
            synth.noteoff(0, int(notes.pitch[i]))
    return np.asarray(resample_poly(np.concatenate(parts).mean(axis=1), 1, 2), dtype=np.float64)


def _synth(program: int, rate: int) -> Any:
    package = importlib.util.find_spec("pretty_midi")
    if package is None or importlib.util.find_spec("tinysoundfont") is None:
        raise InputError("Install pretty_midi, which brings a small soundfont, and tinysoundfont, which plays it.")
    tinysoundfont = importlib.import_module("tinysoundfont")
    synth = tinysoundfont.Synth(samplerate=rate, gain=-6)
    soundfont = Path(next(iter(package.submodule_search_locations or []))) / "TimGM6mb.sf2"
    synth.program_select(0, synth.sfload(str(soundfont)), 0, program)
    return synth


def _plucked(notes: _Played, random: np.random.Generator) -> Floats:
    tilt, decay, damping = random.uniform(0.4, 1.6), random.uniform(0.8, 4), random.uniform(0.2, 1.5)
    stiffness, place = random.uniform(0, 4e-4), random.uniform(0.08, 0.5)
    attack = float(random.choice([1e-5, 0.001, 0.003, 0.006]))
    sound = np.zeros(int((SECONDS + 3) * RATE))
    for start, end, pitch, velocity in zip(notes.start, notes.end, notes.pitch, notes.velocity, strict=True):
        hertz = 440 * 2 ** ((pitch - 69) / 12)
        first, length = int(np.ceil(start * RATE)), min(end - start + 0.1, 2.5)
        time = (first + np.arange(int(length * RATE))) / RATE - start
        partial = np.arange(1, 25)
        frequency = hertz * partial * np.sqrt(1 + stiffness * partial**2)
        tone = np.zeros(len(time))
        for n, f in zip(partial[frequency < 10500], frequency, strict=False):
            level = n**-tilt * abs(np.sin(np.pi * n * place))
            fade = np.exp(-time * decay * (hertz / 220) ** 0.5 * (1 + damping * (n - 1)))
            tone += level * fade * np.sin(2 * np.pi * f * time + random.uniform(0, 2 * np.pi))
        tone *= (1 - np.exp(-time / attack)) * np.clip((length - time) / 0.05, 0, 1) * (velocity / 127) ** 2
        room = len(sound) - first
        sound[first : first + len(tone)] += tone[:room]
    return sound
