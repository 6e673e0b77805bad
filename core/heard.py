"""The sound of a take from any place in it: the one way by which a hand-over reads what is heard."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from core import sound_file
from core.checks import Floats
from core.errors import HandoverError, TakeError
from core.read_audio import blocks, look
from core.take import AudioTake
from core.take_file import cannot_read

Float32 = NDArray[np.float32]
Told = Callable[[float], object]
"""Told the share that is done, 0 to 1."""

Moved = Callable[[Floats], Floats]
"""Where moments of take time lie instead, both in seconds; earlier ones stay earlier."""

BLOCK = 1 << 17
"""Frames read at once where a take is gone through: three seconds, whatever the length of the take."""


class Heard(Protocol):
    """What is heard of a take, in frames of take time."""

    @property
    def rate(self) -> int:
        """Frames a second."""

    @property
    def channels(self) -> int:
        """Samples a frame."""

    @property
    def frames(self) -> int:
        """Frames from the start of the take to its end."""

    def read(self, first: int, last: int) -> Float32:
        """Samples of the frames `first` up to `last`, shape (last - first, channels); silence outside the take."""


class Opener(Protocol):
    """Opens the sound of a take, perhaps after some work that it tells of."""

    def __call__(self, *, progress: Told = ...) -> AbstractContextManager[Heard]:
        """Open it."""


@dataclass(frozen=True, slots=True)
class Source:
    """What is known of a take's sound before it is opened.

    Parameters
    ----------
    rate, channels, frames : int
        As `Heard` has them.
    open : callable
        Opens it.
    moved : callable or None
        Makes the source of the same music at other moments, where it is played anew; what was recorded can only be
        stretched.
    words : str
        How it comes about, where it is no recording.
    """

    rate: int
    channels: int
    frames: int
    open: Opener
    moved: Callable[[Moved], Source] | None = None
    words: str = ""


def source_of(take: AudioTake) -> Source:
    """The sound of an audio take."""
    return Source(take.rate, take.channels, take.frames, partial(hear, take))


@contextmanager
def hear(take: AudioTake, *, progress: Told = lambda _: None) -> Iterator[Heard]:
    """Open the sound of an audio take.

    What cannot be sought to the sample (MP3, AAC, Vorbis, Opus) is first decoded into a file without a name, which
    goes when the sound is closed.

    Parameters
    ----------
    take : AudioTake
    progress : callable
        Told the share of the decoding that is done, 0 to 1.

    Raises
    ------
    TakeError
        If it cannot be read (any more).
    HandoverError
        If there is no room to decode it.
    """
    sound = look(take.path)
    if sound.frames is not None and sound.form != "OGG":
        yield _Sought(take)
        return
    with spool(take.rate, take.channels) as decoded:
        for block in blocks(take):
            decoded.add(block)
            progress(min(decoded.frames / take.frames, 1.0))
        yield decoded


def peak_of(heard: Heard, *, progress: Told = lambda _: None) -> float:
    """Largest sample of all, as a share of full scale."""
    peak = 0.0
    for first in range(0, heard.frames, BLOCK):
        block = heard.read(first, min(first + BLOCK, heard.frames))
        peak = max(peak, float(np.max(np.abs(block), initial=0.0)))
        progress(min((first + BLOCK) / heard.frames, 1.0))
    return peak


@contextmanager
def spool(rate: int, channels: int) -> Iterator[Spool]:
    """Sound that is put on disk as it is made, in a file without a name, and then read from any place."""
    sound = Spool(rate, channels)
    try:
        yield sound
    finally:
        sound.close()


class Spool:
    """Sound on disk; `peak` is the largest sample so far."""

    def __init__(self, rate: int, channels: int) -> None:
        self.rate, self.channels, self.frames = rate, channels, 0
        self.peak = 0.0
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed by `close`

    def close(self) -> None:
        """Give the room on the disk back."""
        self._file.close()

    def add(self, block: Float32) -> None:
        """Put frames at the end, shape (frames, channels).

        Raises
        ------
        HandoverError
            If there is no room.
        """
        try:
            self._file.seek(self.frames * self.channels * 4)
            self._file.write(np.ascontiguousarray(block, dtype=np.float32).data)
            self._file.flush()
        except OSError as error:
            raise HandoverError(
                f"There is no room for sound in between ({error.strerror or error}): make room on the disk."
            ) from error
        self.frames += len(block)
        self.peak = max(self.peak, float(np.max(np.abs(block), initial=0.0)))

    def read(self, first: int, last: int) -> Float32:
        """Samples of the frames `first` up to `last`; silence outside."""
        begin, end = _inside(self, first, last)
        self._file.seek(begin * self.channels * 4)
        data = self._file.read((end - begin) * self.channels * 4)
        samples = np.frombuffer(data, dtype=np.float32).reshape(-1, self.channels)
        return _padded(samples, begin - first, last - first)


class _Sought:
    """Sound sought in its own file."""

    def __init__(self, take: AudioTake) -> None:
        self._take = take
        self.rate, self.channels, self.frames = take.rate, take.channels, take.frames

    def read(self, first: int, last: int) -> Float32:
        """Samples of the frames `first` up to `last`; silence outside."""
        begin, end = _inside(self, first, last)
        samples = np.zeros((0, self.channels), np.float32)
        if end > begin:
            try:
                samples = sound_file.stretch(self._take.path, begin, end - begin)
            except OSError as error:
                raise cannot_read(self._take.path, error) from error
        if samples.shape != (end - begin, self.channels):
            raise TakeError(f"{self._take.path} was changed while it was read: open it again.")
        if not np.all(np.isfinite(samples)):
            raise TakeError(f"{self._take.path} holds a sample that is not a number: export the take again.")
        return _padded(samples, begin - first, last - first)


def _inside(heard: Heard, first: int, last: int) -> tuple[int, int]:
    """The part of a stretch in which there is sound."""
    begin = min(max(first, 0), heard.frames)
    return begin, min(max(last, begin), heard.frames)


def _padded(samples: Float32, before: int, length: int) -> Float32:
    """Put samples into a stretch of silence."""
    if len(samples) == length:
        return samples
    padded = np.zeros((length, samples.shape[1]), np.float32)
    if len(samples):
        padded[before : before + len(samples)] = samples
    return padded
