"""Sound files through libsndfile, told of in full and read in pieces.

Its count of frames is not always true: that of an MP3 file is a guess where the file does not say it (libsndfile
issue 1001), which would end some takes early, that of a damaged file is a promise, and a recorder that lost its
power has written none. All are dealt with here.
"""

from __future__ import annotations

import io
import os
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from core.errors import TakeError

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer as Buffer

PIECE = 16384
"""Frames read at once."""

READABLE = "WAV, AIFF, FLAC, OGG, Opus or MP3"

_STREAMED = 0x7FFFF000
"""A chunk at least this long was written by a recorder that did not know its length yet."""

_MOST_CHUNKS = 10_000
"""Chunks of a file that are looked through for its samples; a take has a handful."""

_SLACK = 100
"""Bytes a chunk may promise too many: some writers count headers in."""


@dataclass(frozen=True, slots=True)
class Sound:
    """What a sound file says of itself; `frames` is None where only reading it through can tell."""

    form: str
    rate: int
    channels: int
    frames: int | None


class _SoundFile(soundfile.SoundFile):  # type: ignore[misc]  # the library has no types
    """Reads on from where it is: soundfile seeks after each read, at which MP3 files lose samples."""

    def seekable(self) -> bool:
        """Say no, so that nothing is sought unasked."""
        return False


class _Overlaid(io.FileIO):
    """A file read as if other bytes stood in a few places of it."""

    def __init__(self, path: Path, patches: dict[int, bytes]) -> None:
        super().__init__(path)
        self._patches = patches

    def readinto(self, buffer: Buffer) -> int:
        """Read on, with the other bytes in place."""
        view, start = memoryview(buffer).cast("B"), self.tell()
        got = super().readinto(view)
        for at, data in self._patches.items():
            for i, byte in enumerate(data, at - start):
                if 0 <= i < got:
                    view[i] = byte
        return got


def look(path: Path) -> Sound:
    """Tell rate, channels and length of a sound file.

    Raises
    ------
    TakeError
        If the file is not recognised or ends before its own end.
    """
    with _opened(path) as file:
        form, rate, channels, frames = file.format, file.samplerate, file.channels, file.frames
        # More frames than a sample counter of 48 bits: libsndfile does not know.
        if form.startswith("MP") or not 0 <= frames < 1 << 48:
            return Sound(form, rate, channels, None)
        whole = True
        try:
            whole = frames == 0 or (file.seek(frames - 1) == frames - 1 and len(file.read(1)) == 1)
        except soundfile.LibsndfileError:
            whole = False
    if not whole:
        raise _ends_early(path, _readable_frames(path) / rate, frames / rate)
    with path.open("rb") as raw:
        there = _share_there(raw)
    if there < 1:
        raise _ends_early(path, frames / rate, frames / rate / there if there else None)
    return Sound(form, rate, channels, frames)


def pieces(path: Path) -> Iterator[NDArray[np.float32]]:
    """Yield all samples in order, at most `PIECE` frames at a time, each of shape (frames, channels).

    Raises
    ------
    TakeError
        If the file is not recognised, or cannot be decoded any further before its end.
    """
    with _opened(path) as file:
        done = 0
        while True:
            piece = np.empty((PIECE, file.channels), dtype=np.float32)
            try:
                # Reading into an array is not limited to the frames libsndfile believes in.
                got = len(file.read(out=piece))
            except soundfile.LibsndfileError as error:
                raise TakeError(
                    f"{path} is damaged at {done / file.samplerate:.1f} s: copy or export the take again."
                ) from error
            if not got:
                return
            yield piece[:got]
            done += got


def stretch(path: Path, first: int, count: int) -> NDArray[np.float32]:
    """Return the samples from one frame on, shape (frames, channels); fewer where the file ends.

    Only for files that hold PCM or FLAC: others cannot be sought to the sample.

    Raises
    ------
    TakeError
        If the file is not recognised, or cannot be decoded there.
    """
    with _opened(path) as file:
        samples = np.empty((count, file.channels), dtype=np.float32)
        try:
            file.seek(first)
            return samples[: len(file.read(out=samples))]
        except soundfile.LibsndfileError as error:
            raise TakeError(
                f"{path} cannot be read at {first / file.samplerate:.1f} s: copy or export the take again."
            ) from error


def _ends_early(path: Path, seconds: float, promised: float | None) -> TakeError:
    of_all = f" of the {promised:.1f} s it should last" if promised else ""
    return TakeError(f"{path} ends after {seconds:.1f} s{of_all}: it was cut off; copy or export the take again.")


def _readable_frames(path: Path) -> int:
    frames = 0
    try:
        for piece in pieces(path):
            frames += len(piece)
    except TakeError:
        pass
    return frames


def _share_there(raw: BinaryIO) -> float:
    """Share of the promised samples of a WAV or AIFF file that the file is long enough to hold; else 1."""
    size = os.fstat(raw.fileno()).st_size
    head = raw.read(12)
    order: Literal["little", "big"]
    if head[:4] == b"RIFF" and head[8:] == b"WAVE":
        order, samples = "little", b"data"
    elif head[:4] == b"FORM" and head[8:11] == b"AIF":
        order, samples = "big", b"SSND"
    else:
        return 1.0
    for name, length in _chunks(raw, order):
        if name == samples:
            left = size - raw.tell()
            return left / length if left + _SLACK < length < _STREAMED else 1.0
    return 1.0


def _chunks(raw: BinaryIO, order: Literal["little", "big"]) -> Iterator[tuple[bytes, int]]:
    """Name and length of one chunk after another; the file stands where its content begins."""
    for _ in range(_MOST_CHUNKS):
        head = raw.read(8)
        if len(head) < 8:
            return
        length, begin = int.from_bytes(head[4:], order), raw.tell()
        yield head[:4], length
        raw.seek(begin + length + length % 2)


def _unfinished(path: Path) -> dict[int, bytes]:
    """Find the lengths of a WAV file that its recorder never came to write, and what they should be, by place."""
    with path.open("rb") as raw:
        size = os.fstat(raw.fileno()).st_size
        head = raw.read(12)
        # The length of the whole file is written last: where it is right, an empty take is empty.
        finished = int.from_bytes(head[4:8], "little") + 8 + _SLACK >= size
        if finished or head[:4] != b"RIFF" or head[8:] != b"WAVE":
            return {}
        for name, length in _chunks(raw, "little"):
            if name == b"data":
                left = min(size - raw.tell(), 0xFFFFFFFF)
                whole = min(size - 8, 0xFFFFFFFF)
                if length or left <= _SLACK:
                    return {}
                return {4: whole.to_bytes(4, "little"), raw.tell() - 4: left.to_bytes(4, "little")}
    return {}


@contextmanager
def _opened(path: Path) -> Iterator[soundfile.SoundFile]:
    with ExitStack() as kept:
        try:
            patches = _unfinished(path)
            raw = kept.enter_context(_Overlaid(path, patches)) if patches else os.fspath(path)
            file = kept.enter_context(_SoundFile(raw))
            if file.format.startswith("MP") and (start := _unmeasured(path)) is not None:
                descriptor = kept.enter_context(_piped(path, start))
                file = kept.enter_context(_SoundFile(descriptor, closefd=False))
        # A name that ends in .raw makes soundfile ask for a rate.
        except (soundfile.SoundFileError, TypeError) as error:
            raise TakeError(
                f"{path} is neither MIDI nor audio that can be read: export the take as {READABLE}."
            ) from error
        yield file


def _unmeasured(path: Path) -> int | None:
    """Where an MP3 file's first frame starts, if it does not tell the length (no Xing, Info or VBRI header)."""
    with path.open("rb") as raw:
        start, head = 0, raw.read(10)
        if head[:3] == b"ID3":
            # ID3v2: seven bits a byte, without this header and a footer of the same size.
            size = sum((byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=False))
            start = 10 + size + (10 if head[5] & 0x10 else 0)
        raw.seek(start)
        frame = raw.read(200)
    synchronous = len(frame) > 1 and frame[0] == 0xFF and frame[1] & 0xE0 == 0xE0
    measured = any(name in frame for name in (b"Xing", b"Info", b"VBRI"))
    return start if synchronous and not measured else None


@contextmanager
def _piped(path: Path, start: int) -> Iterator[int]:
    """Give a descriptor that has no length, so that libsndfile reads until there is no more."""
    out, into = os.pipe()

    def feed() -> None:
        with path.open("rb") as raw, os.fdopen(into, "wb") as pipe:
            raw.seek(start)
            try:
                while data := raw.read(1 << 16):
                    pipe.write(data)
                    pipe.flush()
            except BrokenPipeError:
                pass

    feeder = threading.Thread(target=feed, daemon=True)
    feeder.start()
    try:
        yield out
    finally:
        os.close(out)
        feeder.join()
