"""Sound of a take at any place, in the frames of the card: read, resampled or rendered when it is asked for.

Whatever is asked for comes out the same each time, so that it can be asked for again.
"""

from __future__ import annotations

from functools import lru_cache
from math import gcd
from typing import Protocol

import numpy as np
import soxr
from numpy.typing import NDArray

from app.sound.decoded import Decoded
from app.sound.piano_take import PianoTake
from app.sound.stretched import Stretched
from core.edited_sound import FADE, EditedSound
from core.passages import Passages
from core.read_audio import look
from core.samples import Samples, seekable
from core.take import AudioTake, MidiTake, Take

Stereo = NDArray[np.float32]
"""Frames of left and right, shape (frames, 2)."""

_MARGIN = 4096
"""Frames on both sides of a chunk that is resampled; longer than the filter."""

_CHUNKS = 4

PIANO_RATE = 48000
"""Frames a second at which a MIDI take is rendered where the card does not mind."""


class Source(Protocol):
    """A take as sound."""

    def read(self, first: int, count: int) -> Stereo:
        """Return frames from `first` on; silence before the take and after it.

        Raises
        ------
        TakeError, OSError
            If the file cannot be read any more.
        """

    def ready(self, first: int, count: int) -> bool:
        """Whether these frames can be read at once."""


class Recording:
    """An audio take at its own rate, read from the file."""

    def __init__(self, take: AudioTake) -> None:
        self._take = take
        self._channels = min(take.channels, 2)
        sought = seekable(look(take.path))
        self._samples = Samples(take, self._channels) if sought else Decoded(take, self._channels)

    def read(self, first: int, count: int) -> Stereo:
        """Frames of the file."""
        out = np.zeros((count, 2), dtype=np.float32)
        start, end = max(first, 0), min(first + count, self._take.frames)
        if start < end:
            # One channel is heard on both sides.
            out[start - first : end - first] = self._samples.stretch(start, end).T
        return out

    def ready(self, first: int, count: int) -> bool:
        """Whether they have been decoded."""
        end = min(first + count, self._take.frames)
        return not isinstance(self._samples, Decoded) or self._samples.done(end)

    def close(self) -> None:
        """Decode no further."""
        if isinstance(self._samples, Decoded):
            self._samples.stop()


class _Frames:
    """A recording as `core.edited_sound` reads it."""

    channels = 2

    def __init__(self, recording: Recording, take: AudioTake) -> None:
        self._recording, self.rate, self.frames = recording, take.rate, take.frames

    def read(self, first: int, last: int) -> Stereo:
        return self._recording.read(first, last - first)


class Arranged:
    """Passages of a recording one after the other."""

    def __init__(self, recording: Recording, take: AudioTake, passages: Passages) -> None:
        self._recording, self._rate, self._passages = recording, take.rate, passages
        self._sound = EditedSound(_Frames(recording, take), passages)

    def read(self, first: int, count: int) -> Stereo:
        """Frames of what is heard."""
        return self._sound.read(first, first + count)

    def ready(self, first: int, count: int) -> bool:
        """Whether as much of the recording has been decoded."""
        inside = self._passages.joints[:-1] * self._rate
        inside = inside[(inside >= first) & (inside < first + count)]
        places = np.concatenate([[first, first + count], inside, inside - 1])
        last = float(self._passages.to_recording(places / self._rate).max()) + FADE
        return self._recording.ready(0, round(last * self._rate))


class Resampled:
    """A source at another rate, in chunks that begin at the same moment at either rate."""

    def __init__(self, source: Source, rate: int, wanted: int) -> None:
        self._source, self._rate, self._wanted = source, rate, wanted
        common = gcd(rate, wanted)
        self._down, self._up = rate // common, wanted // common
        times = max(common // 2, 1)
        self._chunk_in, self._chunk_out = times * self._down, times * self._up
        self._chunk = lru_cache(_CHUNKS)(self._resample)

    def _resample(self, index: int) -> Stereo:
        margin = -(-_MARGIN // self._down) * self._down
        before = margin // self._down * self._up
        rows = self._source.read(index * self._chunk_in - margin, self._chunk_in + 2 * margin)
        return np.asarray(soxr.resample(rows, self._rate, self._wanted)[before : before + self._chunk_out])

    def read(self, first: int, count: int) -> Stereo:
        """Frames at the wanted rate."""
        size = self._chunk_out
        chunks = range(first // size, -(-(first + count) // size))
        start = first - chunks[0] * size
        return np.concatenate([self._chunk(i) for i in chunks])[start : start + count]

    def ready(self, first: int, count: int) -> bool:
        """Whether the chunks they lie in are there."""
        scale, more = self._down / self._up, self._chunk_in + _MARGIN
        return self._source.ready(int(first * scale) - more, int(count * scale) + 2 * more)


class TakeSound:
    """The sound of one take at whatever rate and speed it is played.

    Parameters
    ----------
    take : Take
        The recording.
    passages : Passages, optional
        What is heard of an audio take.

    Raises
    ------
    TakeError, MissingLibraryError, OSError
        If it cannot be read.
    """

    def __init__(self, take: Take, passages: Passages | None = None) -> None:
        self._take, self._passages = take, passages
        self.duration = take.duration if passages is None else passages.duration
        self._recording = Recording(take) if isinstance(take, AudioTake) else None
        self.rate = take.rate if isinstance(take, AudioTake) else PIANO_RATE
        """Frames a second at which it is best played."""
        self._played: tuple[tuple[int, float], Source] | None = None

    def at(self, rate: int, speed: float = 1.0) -> Source:
        """Sound at a rate; at a lower speed there are more frames of the same pitch."""
        if self._played is None or self._played[0] != (rate, speed):
            self._played = (rate, speed), self._made(rate, speed)
        return self._played[1]

    def plain(self) -> Source:
        """Sound at its own rate and speed, made anew: for a thread beside the one that plays."""
        return self._made(self.rate, 1.0)

    def _made(self, rate: int, speed: float) -> Source:
        if self._recording is None or not isinstance(self._take, AudioTake):
            assert isinstance(self._take, MidiTake)
            return PianoTake(self._take, rate, speed)
        source: Source = self._recording
        if self._passages is not None:
            source = Arranged(self._recording, self._take, self._passages)
        if self._take.rate != rate:
            source = Resampled(source, self._take.rate, rate)
        return Stretched(source, rate, speed) if speed < 1.0 else source

    def close(self) -> None:
        """Read no further ahead."""
        if self._recording is not None:
            self._recording.close()
