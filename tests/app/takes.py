"""Small takes with known bar lines, for tests that go in by the front door."""

from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np
import soundfile

# Widths of the beats of a phrase, in milliseconds at 120 a minute: the phrase arch of the KTH rule system
# (Friberg, Bresin & Sundberg 2006) for sixteen beats, k = 1, turn = .5.
ARCH = [550, 537.5556, 526.8889, 518, 510.8889, 505.5556, 502, 500.2222]
ARCH += [500.4444, 504, 511.1111, 521.7778, 536, 553.7778, 575.1111, 600]


@dataclass(frozen=True)
class Played:
    """A take on disk and where its beats truly are."""

    path: Path
    beats: np.ndarray
    per_bar: int

    @property
    def bars(self) -> np.ndarray:
        return self.beats[:: self.per_bar]

    def pins(self, path: Path, *bars: int) -> Path:
        """Write some of its bar lines as placed ones."""
        rows = [f"{self.bars[bar - 1]:.6f},{bar}" for bar in bars]
        path.write_text("time_s,bar\n" + "\n".join(rows) + "\n", encoding="utf-8")
        return path


def beat_times(phrases: int, *, start: float = 1.0) -> np.ndarray:
    """Beats of so many phrases and the bar line that ends them, in seconds."""
    return start + np.concatenate(([0.0], np.cumsum(ARCH * phrases))) / 1000


def play_midi(path: Path, *, phrases: int = 4, per_bar: int = 4) -> Played:
    """Write a piano take: a bass note and a chord on each bar line, a chord on every other beat."""
    beats = beat_times(phrases)
    events = []
    for i, time in enumerate(beats):
        first = i % per_bar == 0
        root = (0, 9, 5, 7)[i // per_bar % 4]
        keys = [60 + root, 64 + root, *([36 + root] if first else [])]
        length = 0.9 * 0.5 * (per_bar if first else 1)
        for key in keys:
            events.append((time, mido.Message("note_on", note=key, velocity=90 if first else 55)))
            events.append((time + length, mido.Message("note_off", note=key)))
    track, now = mido.MidiTrack(), 0
    for time, message in sorted(events, key=lambda event: event[0]):
        tick = round(time * 2000)  # division 1000 at 120 a minute: half a millisecond a tick
        track.append(message.copy(time=tick - now))
        now = tick
    mido.MidiFile(ticks_per_beat=1000, tracks=[track]).save(path)
    return Played(path, beats, per_bar)


def play_audio(path: Path, *, phrases: int = 1, rate: int = 22050) -> Played:
    """Write an audio take of plucked tones at the same places."""
    beats = beat_times(phrases)
    sound = np.zeros(int((beats[-1] + 1.5) * rate))
    moment = np.arange(int(0.8 * rate)) / rate
    for i, time in enumerate(beats):
        pitch = 110.0 if i % 4 == 0 else 440.0
        tone = (1.0 if i % 4 == 0 else 0.5) * np.exp(-6 * moment) * np.sin(2 * np.pi * pitch * moment)
        at = round(time * rate)
        sound[at : at + len(tone)] += 0.4 * tone
    soundfile.write(path, sound, rate)
    return Played(path, beats, 4)
