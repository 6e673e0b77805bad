"""A score played by somebody: notes in seconds, the pedal, and where the bar lines truly are.

A true bar line is defined as annotators of performances do it: the mean onset of the notes that the score strikes
at the bar line. Where it strikes none, it is the moment at which the tempo gets there (none of the examples'
bar lines needs that). Inner beats follow the same rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import mido
import numpy as np

from core.checks import Floats
from core.grid import Beat, Grid
from core.metre import Metre
from core.take import Message, Notes
from examples.tempo import Hesitation
from examples.timing import MOTOR_NOISE

SecondsAt = Callable[[Floats], Floats]
"""The tempo: seconds at score positions in quarters from bar line 1."""


class ScoreNote(NamedTuple):
    """One note of a score: its place and length in quarters from bar line 1, MIDI pitch and velocity."""

    quarter: Fraction
    duration: Fraction
    pitch: int
    velocity: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Performance:
    """What was played.

    Parameters
    ----------
    notes : Notes
        In order of their start.
    quarters : (n,) float
        Where the score has each note.
    """

    notes: Notes
    quarters: Floats

    def struck(self, quarter: Fraction) -> float | None:
        """Mean onset in seconds of the notes the score has at a place, or None where it has none."""
        here = self.quarters == float(quarter)
        return float(self.notes.start[here].mean()) if here.any() else None

    def hesitations(self, stops: Iterable[Hesitation]) -> tuple[tuple[float, float, float], ...]:
        """Where the player stopped: the last onset before, the first after, and what was too long about it."""
        found = []
        for stop in stops:
            before = Fraction(float(self.quarters[self.quarters < float(stop.quarter)].max()))
            after = Fraction(float(self.quarters[self.quarters >= float(stop.quarter)].min()))
            start, end = self.struck(before), self.struck(after)
            assert start is not None
            assert end is not None
            found.append((start, end, stop.seconds))
        return tuple(found)


def perform(
    score: Iterable[ScoreNote],
    seconds_at: SecondsAt,
    *,
    seed: int,
    noise: float = 1.0,
    spread: tuple[float, float] = (0.005, 0.025),
) -> Performance:
    """Play a score through a tempo.

    Parameters
    ----------
    score : iterable of ScoreNote
        Where a pitch is struck twice at one place, only the louder is kept.
    seconds_at : callable
        Score positions in quarters to seconds, such as `core.tempo_map.TempoMap.seconds_at`.
    seed : int
        The same seed plays the same.
    noise : float
        Quantity k of the motor noise; a chord has one, its hand's.
    spread : (float, float)
        Least and most seconds between the first and the last note of a chord.
    """
    # RandomState, because its stream is the one that numpy promises never to change.
    rng = np.random.RandomState(seed)
    played: list[tuple[float, float, ScoreNote]] = []
    # The louder of two equal pitches comes later and so replaces the other.
    ordered = sorted(score, key=lambda note: (note.quarter, note.velocity))
    for quarter, group in groupby(ordered, key=lambda note: note.quarter):
        chord = sorted({note.pitch: note for note in group}.values(), key=lambda note: note.pitch)
        centre = float(seconds_at(np.array(float(quarter)))) + noise * MOTOR_NOISE * _gauss(rng)
        for note, early in zip(chord, _asynchrony(len(chord), spread, rng), strict=True):
            start, end = seconds_at(np.array([float(quarter), float(quarter + note.duration)]))
            gate = 0.94 + 0.05 * _gauss(rng)
            played.append((centre + early, centre + early + max(0.05, (end - start) * gate), note))
    played.sort(key=lambda item: item[0])
    return Performance(notes=_notes(played), quarters=np.array([float(note.quarter) for _, _, note in played]))


def _gauss(rng: np.random.RandomState) -> float:
    # Cut at two and a half deviations: a chord must not run into its neighbour.
    return float(np.clip(rng.normal(), -2.5, 2.5))


def _asynchrony(count: int, spread: tuple[float, float], rng: np.random.RandomState) -> Floats:
    """Onsets of a chord's notes around its mean, the lowest note first in half of the chords, else the highest."""
    width, upwards = rng.uniform(*spread), rng.random_sample() < 0.5
    if count == 1:
        return np.zeros(1)
    inner = np.sort(rng.random_sample(count - 2))
    order = width * np.concatenate(([0.0], inner, [1.0]))
    order -= order.mean()
    return order if upwards else order[::-1]


def _notes(played: Sequence[tuple[float, float, ScoreNote]]) -> Notes:
    start = np.array([item[0] for item in played])
    end = np.array([item[1] for item in played])
    pitch = np.array([note.pitch for _, _, note in played])
    for key in np.unique(pitch):
        # A key must be up before it goes down again.
        same = np.flatnonzero(pitch == key)
        end[same[:-1]] = np.minimum(end[same[:-1]], start[same[1:]] - 0.01)
    return Notes(
        start=start,
        end=end,
        pitch=pitch,
        velocity=np.array([note.velocity for _, _, note in played]),
        channel=np.zeros(len(played), dtype=np.int64),
    )


def pedalling(changes: Sequence[Fraction], seconds_at: SecondsAt, *, seed: int) -> tuple[Message, ...]:
    """Lift and press the sustain pedal just after each change of harmony, as legato pedalling does."""
    rng = np.random.RandomState(seed)
    messages: list[Message] = []
    for i, time in enumerate(seconds_at(np.array([float(quarter) for quarter in changes]))):
        lift = float(time) + rng.uniform(0.02, 0.07)
        if i:
            messages.append(Message(lift, bytes((0xB0, 64, 0))))
        if i + 1 < len(changes):
            messages.append(Message(lift + rng.uniform(0.08, 0.16), bytes((0xB0, 64, 127))))
    return tuple(messages)


def true_grid(performance: Performance, metre: Metre, seconds_at: SecondsAt, *, last_bar: int) -> Grid:
    """Find the true beats from the first note to the bar line of `last_bar`."""
    beats: list[Beat] = []
    first = Fraction(performance.quarters.min())
    for bar in range(0 if metre.pickup else 1, last_bar + 1):
        places = metre.at(bar).beat_quarters
        for number, offset in enumerate(places if bar < last_bar else places[:1], 1):
            quarter = metre.quarter_of(bar) + offset
            if quarter >= first:
                struck = performance.struck(quarter)
                time = float(seconds_at(np.array(float(quarter)))) if struck is None else struck
                beats.append(Beat(time=time, bar=bar, beat=number, placed=True))
    return Grid(metre=metre, beats=tuple(beats))


def write_midi(path: Path, notes: Notes, messages: Sequence[Message] = (), *, name: str, program: int) -> None:
    """Write a take as a sequencer records it without a click: format 0, 120 a minute, 960 ticks a quarter."""
    division, tempo = 960, 500_000
    events: list[tuple[int, int, bytes]] = [(0, 0, bytes((0xC0, program)))]
    events += [(_tick(message.time), 2, message.data) for message in messages]
    for start, end, pitch, velocity in zip(notes.start, notes.end, notes.pitch, notes.velocity, strict=True):
        events.append((_tick(start), 3, bytes((0x90, int(pitch), int(velocity)))))
        events.append((_tick(end), 1, bytes((0x80, int(pitch), 64))))
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name), mido.MetaMessage("set_tempo", tempo=tempo)])
    now = 0
    for tick, _, data in sorted(events):
        track.append(mido.Message.from_bytes(data, time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track"))
    mido.MidiFile(type=0, ticks_per_beat=division, tracks=[track]).save(path)


def _tick(seconds: float) -> int:
    return round(float(seconds) * 1920)
