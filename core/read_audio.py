"""An audio take from a file: as long as can be read, its samples in blocks, mixed and resampled in step."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray

from core import aac_file, sound_file
from core.errors import TakeError
from core.sound_file import Sound
from core.take import AudioTake
from core.take_file import LONGEST, kind_of

Float32 = NDArray[np.float32]

SILENCE = 1e-4
"""Samples that stay within this of each other are silence: three steps of 16 bits."""

_LOWEST_RATE, _HIGHEST_RATE = 4000, 768_000

_MOST_CHANNELS = 64

_MOST_SAMPLES = 1 << 34
"""Samples of all channels a take can have: six hours of eight channels at 96 kHz. A tiny file can promise more."""

_BLOCK = 1 << 24
"""Samples of all channels in a block: 64 MB, whatever rate and channels a file says it has."""

_LOUDEST = 1e10
"""No number that is a sample is larger: floats scaled like 32-bit whole numbers stay below."""


def look(path: Path) -> Sound:
    """Tell what an audio file says of itself.

    Raises
    ------
    TakeError, MissingLibraryError
        As `open_audio` does.
    """
    return aac_file.look(path) if kind_of(path) == "aac" else sound_file.look(path)


def open_audio(path: Path) -> AudioTake:
    """Look at an audio file and count its frames, where need be by reading it through.

    Raises
    ------
    TakeError
        If the file cannot be read, is no audio, is cut off, or cannot be a take.
    MissingLibraryError
        If it holds AAC and the package that reads it is not installed.
    """
    path = Path(path)
    sound = look(path)
    if not _LOWEST_RATE <= sound.rate <= _HIGHEST_RATE:
        raise TakeError(
            f"{path} has a sample rate of {sound.rate} Hz, which no take has: "
            "export it again at 44100 or 48000 Hz."
        )
    if sound.channels > _MOST_CHANNELS:
        raise TakeError(
            f"{path} has {sound.channels} channels, at most {_MOST_CHANNELS} can be read: mix it down."
        )
    frames = _counted(path, sound) if sound.frames is None else sound.frames
    duration = frames / sound.rate
    if frames == 0:
        raise TakeError(f"{path} holds no sound: record or export the take again.")
    if duration > LONGEST:
        raise TakeError(
            f"{path} lasts {duration / 3600:.1f} hours, at most {LONGEST / 3600:.0f} can be mapped: "
            "cut it in parts."
        )
    if frames * sound.channels > _MOST_SAMPLES:
        raise TakeError(
            f"{path} has {sound.channels} channels at {sound.rate} Hz for {duration / 3600:.1f} hours, more than "
            "can be read: mix it down, or export it at 48000 Hz."
        )
    return AudioTake(path=path, duration=duration, rate=sound.rate, channels=sound.channels, frames=frames)


def _counted(path: Path, sound: Sound) -> int:
    """Read a file through and count; no further than a take can last, for a stream need never end."""
    frames = 0
    for piece in _pieces(path):
        frames += len(piece)
        if frames > LONGEST * sound.rate:
            break
    return frames


def blocks(take: AudioTake, *, seconds: float = 10.0) -> Iterator[Float32]:
    """Yield all samples in order in blocks of the given length; the last may be shorter.

    Parameters
    ----------
    take : AudioTake
    seconds : float
        Length of a block, which is all that is held in memory; of very many channels or at a very high rate it is
        shorter.

    Yields
    ------
    (frames, channels) float32
        Full scale is -1 to 1; a block of its own, free to change.

    Raises
    ------
    TakeError
        If the file cannot be read to its end or holds a sample that is not a number, when the reading comes to
        it; at the end, if all was silence.
    """
    size = max(min(round(seconds * take.rate), _BLOCK // take.channels), 1)
    lowest, highest = np.full(take.channels, np.inf), np.full(take.channels, -np.inf)
    held: list[Float32] = []
    count = done = 0
    for piece in _pieces(take.path):
        if piece.shape[1] != take.channels:
            raise TakeError(f"{take.path} was changed while it was read: open it again.")
        # A row a channel: numpy is twenty times faster along rows than along short columns. NaN fails both tests.
        rows = np.ascontiguousarray(piece.T)
        lowest, highest = np.minimum(lowest, rows.min(axis=1)), np.maximum(highest, rows.max(axis=1))
        if not (np.all(lowest >= -_LOUDEST) and np.all(highest <= _LOUDEST)):
            at = done + int(np.argmin(np.all(np.abs(rows) <= _LOUDEST, axis=0)))
            raise TakeError(
                f"{take.path} holds a sample that is not a number at {at / take.rate:.3f} s: "
                "export the take again."
            )
        done += len(piece)
        held.append(piece)
        count += len(piece)
        while count >= size:
            whole = np.concatenate(held)
            yield whole[:size]
            # A copy, or the block would stay as long as what is left of it.
            held, count = [whole[size:].copy()], count - size
    if count:
        yield np.concatenate(held)
    if not done or np.max(highest - lowest) < SILENCE:
        raise TakeError(f"{take.path} holds nothing but silence: choose a recording with something to hear in it.")


def mono_blocks(take: AudioTake, *, rate: int = 22050) -> Iterator[Float32]:
    """Yield the mean of the channels at another rate, in blocks without seams and without a shift in time.

    The sound at ``t`` seconds of the file is sample ``t * rate`` of all blocks together; soxr makes up for the
    delay of its filter.

    Yields
    ------
    (samples,) float32

    Raises
    ------
    TakeError
        As `blocks` does.
    """
    stream = soxr.ResampleStream(take.rate, rate, 1, dtype="float32")
    for block in blocks(take, seconds=1.0):
        resampled = stream.resample_chunk(np.ascontiguousarray(block.T).mean(axis=0))
        if len(resampled):
            yield resampled
    yield stream.resample_chunk(np.zeros(0, np.float32), last=True)


def _pieces(path: Path) -> Iterator[Float32]:
    return aac_file.pieces(path) if kind_of(path) == "aac" else sound_file.pieces(path)
