"""Tones of a sampled piano at the rate of a card: the nearest recorded note, moved to the pitch wanted.

What the samples are and whose they are is said in `piano/LICENCE.txt`.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

Float32 = NDArray[np.float32]

_FOLDER = Path(__file__).with_name("piano")

_TAIL = 4096
"""Frames of the repeated part put behind a sample before it is resampled, so that its end has no edge."""

UNDAMPED = 89
"""From here up a piano has no dampers (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Sample:
    """A row of `samples.csv`: where it is meant to be heard, its part that repeats, its fall by 100 dB."""

    pitch: int
    low: int
    high: int
    loop_start: int
    loop_end: int
    decay_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Tone:
    """One pitch.

    Parameters
    ----------
    bright, dark : (n,) float32
        As struck hard, and with its upper partials taken back; both to the end of the part that repeats.
    loop : int
        Frames at the end that repeat.
    decay : float
        Nepers a second by which it falls beyond what is in the samples.
    damping : float
        Nepers a second while the dampers are on the string.
    left, right : float
        Gains of the sides: low notes lie to the left, as they do before the player.
    """

    bright: Float32
    dark: Float32
    loop: int
    decay: float
    damping: float
    left: float
    right: float

    def stretch(self, first: int, count: int, brightness: float) -> Float32:
        """Frames from the strike on; `brightness` is 0 to 1."""
        end = len(self.bright)
        if first + count <= end:
            part: slice | NDArray[np.int64] = slice(first, first + count)
        else:
            frames = np.arange(first, first + count)
            over = frames >= end
            frames[over] = end - self.loop + (frames[over] - end) % self.loop
            part = frames
        dark = self.dark[part]
        return dark + np.float32(brightness) * (self.bright[part] - dark)


@lru_cache(maxsize=1)
def _samples() -> tuple[_Sample, ...]:
    with (_FOLDER / "samples.csv").open(newline="", encoding="ascii") as file:
        rows = list(csv.reader(file))[1:]
    return tuple(
        _Sample(int(pitch), int(low), int(high), int(start), int(end), float(decay))
        for pitch, low, high, start, end, decay in rows
    )


@lru_cache(maxsize=32)
def _recorded(pitch: int) -> tuple[Float32, int]:
    wave, rate = soundfile.read(_FOLDER / f"{pitch:03d}.ogg", dtype="float32")
    return wave, rate


def _darkened(wave: Float32, rate: int, frequency: float) -> Float32:
    """Partials above three times the fundamental taken back, as in a note played softly; no shift in time."""
    spectrum = np.fft.rfft(wave)
    corner = max(3.0 * frequency, 400.0)
    spectrum /= 1.0 + (np.fft.rfftfreq(len(wave), 1.0 / rate) / corner) ** 2
    return np.asarray(np.fft.irfft(spectrum, len(wave)), dtype=np.float32)


@lru_cache(maxsize=128)
def tone(pitch: int, rate: int) -> Tone:
    """Tone of a MIDI note number at a rate in frames a second."""
    sample = next(each for each in _samples() if each.low <= pitch <= each.high)
    wave, recorded = _recorded(sample.pitch)
    wave = np.concatenate([wave[: sample.loop_end], wave[sample.loop_start : sample.loop_end][:_TAIL]])
    dark = _darkened(wave, recorded, 440.0 * 2.0 ** ((sample.pitch - 69) / 12))
    length = sample.loop_end - sample.loop_start
    # The repeated part becomes a whole number of frames; that puts the pitch off by a cent at the very most.
    moved = recorded * 2.0 ** ((pitch - sample.pitch) / 12)
    loop = round(length * rate / moved)
    moved = length * rate / loop
    end = int(sample.loop_end * rate / moved)
    bright, dark = (soxr.resample(each, moved, rate)[:end] for each in (wave, dark))
    angle = 0.25 * np.pi * (1.0 + 0.5 * np.clip((pitch - 62) / 44.0, -1.0, 1.0))
    # Heavier strings need longer to be damped: to a thousandth in half a second at the bottom.
    damping = 0.0 if pitch >= UNDAMPED else np.log(1000.0) / np.interp(pitch, [21, 88], [0.5, 0.15])
    return Tone(
        bright=bright,
        dark=dark,
        loop=loop,
        decay=float(np.log(1e5) / sample.decay_s),
        damping=float(damping),
        left=float(np.cos(angle)),
        right=float(np.sin(angle)),
    )
