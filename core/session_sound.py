"""A take laid into its session sample by sample, the clicks on its beats, and its sections as loops.

Every place is rounded to a frame once, from its absolute time in the session.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.heard import BLOCK, Heard
from core.session import Session

Float32 = NDArray[np.float32]

SEAM = 0.010
"""Seconds over which the end of a loop goes over into its beginning: long enough for no click, shorter than an
attack is felt (common practice, no source)."""

CLICK = 10 ** (-18 / 20)
"""Peak of a click, as a share of full scale: -18 dBFS, 6 dB below the usual ceiling of a hand-over."""

_HIGH, _LOW, _LASTS = 1500.0, 1000.0, 0.030
"""Hertz of the click on a bar line and of the others, and seconds it lasts."""


def frame_at(seconds: float, rate: int) -> int:
    """The frame nearest to a time."""
    return round(seconds * rate)


@dataclass(frozen=True, slots=True)
class InSession:
    """A take's sound in frames of its session: silence before it, or its beginning cut off."""

    heard: Heard
    session: Session

    @property
    def start(self) -> int:
        """Session frame of the take's first frame; negative where the take starts before the session."""
        return frame_at(self.session.offset, self.heard.rate)

    @property
    def frames(self) -> int:
        """Frames from the start of the session to the end of the take."""
        return max(self.start + self.heard.frames, 0)

    def read(self, first: int, last: int) -> Float32:
        """Samples of the session's frames `first` up to `last`, shape (last - first, channels)."""
        return self.heard.read(first - self.start, last - self.start)

    def blocks(self, first: int = 0, last: int | None = None) -> Iterator[Float32]:
        """The same piece by piece; all of it where no frames are named."""
        end = self.frames if last is None else last
        for begin in range(first, end, BLOCK):
            yield self.read(begin, min(begin + BLOCK, end))


def loop_blocks(sound: InSession, first: int, last: int) -> Iterator[Float32]:
    """The session's frames `first` up to `last`, so that their end goes over into their beginning.

    The last `SEAM` of it is cross-faded into what is heard just before `first`: so the loop goes round without a
    click, and its first attack is untouched. The two weights add up to one, so no peak rises.
    """
    seam = min(frame_at(SEAM, sound.heard.rate), (last - first) // 2)
    yield from sound.blocks(first, last - seam)
    share = (0.5 - 0.5 * np.cos(np.pi * np.arange(1, seam + 1) / (seam + 1)))[:, None]
    ending, before = sound.read(last - seam, last), sound.read(first - seam, first)
    yield np.asarray(ending * (1 - share) + before * share, dtype=np.float32)


def click_times(session: Session) -> tuple[tuple[float, bool], ...]:
    """Session seconds of every beat, and whether it is a bar line; the last bar line included."""
    quarters: list[float] = []
    strong: list[bool] = []
    for bar, start in enumerate(session.bar_quarters, 1):
        beats = session.metre.at(bar).beat_quarters if bar < session.last_bar else (0,)
        quarters += [float(start + beat) for beat in beats]
        strong += [i == 0 for i in range(len(beats))]
    return tuple(zip(session.tempo_map.seconds_at(quarters).tolist(), strong, strict=True))


def click_blocks(times: Sequence[tuple[float, bool]], frames: int, rate: int) -> Iterator[Float32]:
    """Clicks at times in seconds, the louder of two pitches on bar lines, as (frames, 1) blocks.

    A click is a tone that dies away within `_LASTS`, at `CLICK` on bar lines and half of it elsewhere.
    """
    length = frame_at(_LASTS, rate)
    seconds = np.arange(length) / rate
    fade = np.exp(-seconds / 0.006) * np.minimum(1.0, seconds / 0.0005) * np.linspace(1.0, 0.0, length)
    tones = {}
    for strong, pitch, peak in ((True, _HIGH, CLICK), (False, _LOW, CLICK / 2)):
        tone = np.sin(2 * np.pi * pitch * seconds) * fade
        tones[strong] = (peak / np.max(np.abs(tone)) * tone).astype(np.float32)
    places = [(frame_at(time, rate), strong) for time, strong in times]
    at = 0
    for first in range(0, frames, BLOCK):
        block = np.zeros((min(first + BLOCK, frames) - first, 1), np.float32)
        while at < len(places) and places[at][0] + length <= first:
            at += 1
        for place, strong in places[at:]:
            if place >= first + len(block):
                break
            begin, end = max(place, first), min(place + length, first + len(block))
            if end > begin:
                block[begin - first : end - first, 0] += tones[strong][begin - place : end - place]
        yield block
