"""A MIDI take as the sound of a piano, rendered at any place when it is asked for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from app.sound.dampers import Dampers, dampers_of
from app.sound.tones import tone
from core.take import MidiTake

LEVEL = 0.4
"""Gain of a note at full velocity, so that full chords stay below full scale."""

_CURVE = 1.8
"""Power of the velocity that its loudness goes with: 40 dB are from 10 to 127 (common practice, no source)."""

_SILENT = np.log(1e4)
"""Nepers below which a note is not rendered."""

_STRUCK_AGAIN = 40.0
"""Nepers a second by which a string gives up its old tone when it is struck again."""

_SECOND_FADE = 0.25
"""Seconds after which nothing is left of a note whose string is struck again."""


class PianoTake:
    """Every note has its tone, its loudness and brightness by velocity, and rings as long as key or pedal let it.

    Parameters
    ----------
    take : MidiTake
    rate : int
        Frames a second.
    speed : float
        Below 1 the notes come further apart; each sounds as it does.
    voices : int or None
        Notes rendered at a time at most, the loudest; None for all, where nobody waits for it.
    """

    def __init__(self, take: MidiTake, rate: int, speed: float = 1.0, voices: int | None = 64) -> None:
        notes = take.notes
        self._rate, self._voices = rate, voices
        scale = 1.0 / speed
        self._start = np.rint(notes.start * scale * rate).astype(np.int64)
        up = notes.end * scale
        self._up = np.rint(up * rate).astype(np.int64)
        self._pitch, self._channel = notes.pitch, notes.channel
        strength = notes.velocity / 127.0
        self._level = LEVEL * strength**_CURVE
        self._brightness = np.clip((notes.velocity - 15) / 95.0, 0.0, 1.0)
        self._dampers = {int(c): dampers_of(take, int(c), scale) for c in np.unique(notes.channel)}
        self._again = _struck_again(self._start, notes.pitch, notes.channel)
        self._end = self._ends(up)
        self.frames = max(round(take.duration * scale * rate), int(self._end.max(initial=0)))

    def _ends(self, up: NDArray[np.float64]) -> NDArray[np.int64]:
        """Frame at which each note has died away."""
        end = np.empty(len(self._start))
        for channel, dampers in self._dampers.items():
            for pitch in np.unique(self._pitch[self._channel == channel]):
                these = (self._channel == channel) & (self._pitch == pitch)
                kind = tone(int(pitch), self._rate)
                rings = self._start[these] / self._rate + _SILENT / kind.decay
                if kind.damping:
                    lain = dampers.until(up[these]) + _SILENT / kind.damping
                    rings = np.minimum(rings, dampers.when(lain))
                end[these] = np.ceil(rings * self._rate)
        return np.asarray(np.minimum(end, self._again + _SECOND_FADE * self._rate), dtype=np.int64)

    def read(self, first: int, count: int) -> NDArray[np.float32]:
        """Frames of the take as played."""
        out = np.zeros((2, count), dtype=np.float32)
        time = (first + np.arange(count)) / self._rate
        lain = {channel: dampers.until(time) for channel, dampers in self._dampers.items()}
        for i in self._sounding(first, count):
            channel = int(self._channel[i])
            kind = tone(int(self._pitch[i]), self._rate)
            begin = max(int(self._start[i]) - first, 0)
            frame = first + begin - int(self._start[i])
            fall = kind.decay / self._rate * np.arange(frame, frame + count - begin)
            fall += self._damped(i, kind.damping, self._dampers[channel], lain[channel][begin:], first + begin)
            sound = kind.stretch(frame, count - begin, float(self._brightness[i]))
            sound *= np.exp(-fall).astype(np.float32) * np.float32(self._level[i])
            out[0, begin:] += np.float32(kind.left) * sound
            out[1, begin:] += np.float32(kind.right) * sound
        return out.T

    def _damped(
        self, i: int, damping: float, dampers: Dampers, lain: NDArray[np.float64], first: int
    ) -> NDArray[np.float64]:
        """Nepers that dampers and another strike have taken from a note, frame by frame."""
        up, again = int(self._up[i]), int(self._again[i])
        taken = np.zeros(len(lain))
        if damping and up < first + len(lain):
            taken = damping * np.maximum(lain - dampers.until(up / self._rate), 0.0)
            taken[: max(up - first, 0)] = 0.0
        if again < first + len(lain):
            taken += _STRUCK_AGAIN / self._rate * np.maximum(np.arange(first, first + len(lain)) - again, 0)
        return taken

    def _sounding(self, first: int, count: int) -> NDArray[np.int64]:
        """Notes that are heard, at most so many: the loudest, judged where they begin to be."""
        found = np.flatnonzero((self._start < first + count) & (self._end > first))
        if self._voices is not None and len(found) > self._voices:
            age = np.maximum(first - self._start[found], 0) / self._rate
            loud = np.log(self._level[found]) - age
            found = np.sort(found[np.argsort(-loud, kind="stable")[: self._voices]])
        return found

    def ready(self, first: int, count: int) -> bool:
        """Whether it can be read at once: always."""
        return True


def _struck_again(
    start: NDArray[np.int64], pitch: NDArray[np.int64], channel: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Frame at which the string of each note is struck the next time; far away where it is not."""
    again = np.full(len(start), 1 << 52)
    order = np.lexsort((start, pitch, channel))
    same = (np.diff(pitch[order]) == 0) & (np.diff(channel[order]) == 0)
    again[order[:-1][same]] = start[order[1:][same]]
    return again
