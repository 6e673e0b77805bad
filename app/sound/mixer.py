"""What is heard at each frame of a course: the take, faded in and out at its edges, and the clicks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from app.sound.burst import LENGTH, burst
from app.sound.clicks import BAR, Clicks
from app.sound.course import FADE, Course, Piece
from app.sound.mix import Mix, gain
from app.sound.sources import Source, Stereo

QUIET = -20.0
"""Decibels of a take whose loudness is not known yet."""


@dataclass(frozen=True, slots=True)
class Loudness:
    """How loud a take is.

    Parameters
    ----------
    usual : float
        Root mean square in the middle of what sounds, 1 being full scale.
    peak : float
        Largest sample found.
    """

    usual: float = 10 ** (QUIET / 20)
    peak: float = 1.0


def loudness(source: Source, frames: int, rate: int) -> Loudness:
    """Measure a take by listening in at many places.

    Parameters
    ----------
    source : Source
    frames : int
        Length of the take in frames of the source.
    rate : int
        Frames a second.
    """
    size = min(round(0.4 * rate), frames)
    rms, peak = [], 0.0
    for start in np.linspace(0, frames - size, 40).astype(int):
        rows = source.read(int(start), size)
        rms.append(float(np.sqrt(np.mean(rows**2))))
        peak = max(peak, float(np.abs(rows).max()))
    heard = np.array(rms)
    heard = heard[heard > 0.01 * heard.max()]
    return Loudness(float(np.median(heard)), peak) if len(heard) else Loudness()


@dataclass(frozen=True, slots=True)
class Mixer:
    """Renders any frames of a course; the same each time.

    Parameters
    ----------
    course : Course
    source : Source or None
        The take at the rate and speed of the course; None where there is only a click.
    clicks, counted : Clicks
        Those of the take, and those before it comes in.
    mix : Mix
    loudness : Loudness
        Of the take.
    """

    course: Course
    source: Source | None
    clicks: Clicks
    counted: Clicks
    mix: Mix
    loudness: Loudness

    def with_clicks(self, clicks: Clicks) -> Mixer:
        """The same with other clicks."""
        return replace(self, clicks=clicks)

    def ready(self, first: int, count: int) -> bool:
        """Whether these frames can be rendered without waiting."""
        source = self.source
        if source is None:
            return True
        return all(
            source.ready(piece.first + max(first - piece.out, -self._fade), min(count, piece.last - piece.first))
            for piece in self.course.pieces(first, first + count + self._fade)
        )

    def render(self, first: int, count: int) -> Stereo:
        """Frames `first` on, shape (count, 2), within full scale."""
        out = np.zeros((count, 2), dtype=np.float32)
        if self.source is not None and (level := gain(self.mix.take)):
            for piece in self.course.pieces(first, first + count + self._fade):
                self._add_take(out, first, piece, self.source, np.float32(level))
        if self.mix.clicking and (level := gain(self.mix.click)):
            self._add_clicks(out, first, np.float32(level * self._as_loud))
        return np.clip(out, -1.0, 1.0, out=out)

    @property
    def _fade(self) -> int:
        return round(FADE * self.course.rate)

    @property
    def _as_loud(self) -> float:
        """Factor that makes a burst as loud as the take, by its mean square and by its peak."""
        one = burst(BAR, self.mix.pitch, self.course.rate)
        return min(self.loudness.usual / float(np.sqrt(np.mean(one**2))), self.loudness.peak)

    def _add_take(self, out: Stereo, first: int, piece: Piece, source: Source, level: np.float32) -> None:
        fade, length = self._fade, piece.last - piece.first
        # It comes in before its stretch, so that the very beginning of that is there in full.
        start, end = max(piece.out - fade, first, 0), min(piece.out + length, first + len(out))
        if start >= end:
            return
        at = np.arange(start, end) - piece.out
        # Equal power: at the seam of a loop end and beginning are two different sounds.
        inside = np.clip(np.minimum((at + fade) / fade, (length - at) / fade), 0.0, 1.0)
        rows = source.read(piece.first + start - piece.out, end - start)
        if inside.min() < 1.0:
            rows = rows * np.sin(0.5 * np.pi * inside).astype(np.float32)[:, None]
        if self.mix.apart:
            out[start - first : end - first, 0] += level * rows.mean(axis=1)
        else:
            out[start - first : end - first] += level * rows

    def _add_clicks(self, out: Stereo, first: int, level: np.float32) -> None:
        rate = self.course.rate
        longest = round(LENGTH * rate)
        for at, kind in self._places(first - longest, first + len(out)):
            sound = burst(kind, self.mix.pitch, rate)
            start, end = max(at, first), min(at + len(sound), first + len(out))
            if start < end:
                part = level * sound[start - at : end - at]
                if not self.mix.apart:
                    out[start - first : end - first, 0] += part
                out[start - first : end - first, 1] += part

    def _places(self, first: int, last: int) -> list[tuple[int, int]]:
        """Frames of the course at which clicks begin, and their kinds."""
        course, found = self.course, []
        lead = course.lead_frames
        if first < lead and len(self.counted):
            into = lead - course.frame(course.stretches[0][0])
            found += [
                (into + course.frame(time), kind)
                for time, kind in zip(self.counted.time.tolist(), self.counted.kind.tolist(), strict=True)
            ]
        for piece in course.pieces(first, last):
            frames = self._click_frames
            i, j = np.searchsorted(frames, (piece.first, piece.last))
            found += zip(
                (frames[i:j] - piece.first + piece.out).tolist(), self.clicks.kind[i:j].tolist(), strict=True
            )
        return [(at, kind) for at, kind in found if first <= at < last]

    @property
    def _click_frames(self) -> NDArray[np.int64]:
        return np.rint(self.clicks.time * self.course.rate / self.course.speed).astype(np.int64)
