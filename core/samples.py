"""Any stretch of an audio take's samples at once, without holding the take in memory."""

from __future__ import annotations

import tempfile
import threading
import weakref
from functools import lru_cache, partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core import sound_file
from core.errors import TakeError
from core.read_audio import look
from core.sound_file import Sound
from core.take import AudioTake
from core.take_file import cannot_read

Float32 = NDArray[np.float32]

_CHUNK = 32768
"""Frames read and kept together."""

_CHUNKS = 32
"""Chunks kept: a million frames, which is more than is ever on screen sample by sample."""

_Cells = np.float16
"""Three digits of a sample are more than a screen shows, at half the room."""


def seekable(sound: Sound) -> bool:
    """Whether a file of this form can be sought to the sample."""
    # libsndfile lands beside the place in the last page of an Ogg file.
    return sound.frames is not None and sound.form != "OGG"


class Samples:
    """Reads stretches of the first channels of a take, from any thread.

    Most formats are sought in the file itself. MP3, AAC, Vorbis and Opus cannot be sought to the sample: of those,
    whoever reads the take through gives each block to `keep`, which puts it on disk in a file without a name that
    goes with this object (two bytes a sample: 106 MB for ten minutes of stereo).

    Parameters
    ----------
    take : AudioTake
    channels : int
        How many of the take's channels are wanted.
    """

    def __init__(self, take: AudioTake, channels: int) -> None:
        self._take, self._channels = take, channels
        self._chunk = lru_cache(_CHUNKS)(partial(_read_chunk, take.path, channels))
        self._lock = threading.Lock()
        self._kept = 0
        self._file = None if seekable(look(take.path)) else tempfile.TemporaryFile()  # noqa: SIM115 - closed with this object
        if self._file is not None:
            weakref.finalize(self, self._file.close)

    @property
    def has_to_keep(self) -> bool:
        """Whether the take has to be read through and given to `keep`."""
        return self._file is not None

    def keep(self, rows: Float32) -> None:
        """Take the next block of the take, shape (channels, frames), if this format has to be kept."""
        if self._file is None:
            return
        cells = np.ascontiguousarray(rows.T, dtype=_Cells)
        with self._lock:
            try:
                self._file.seek(self._kept * self._channels * cells.itemsize)
                self._file.write(cells.data)
            except OSError:
                # The disk is full. Samples that are not there are refused by `stretch`; all else goes on.
                return
            self._kept += len(cells)

    def stretch(self, first: int, last: int) -> Float32:
        """Return samples `first` up to, not including, `last`, as (channels, frames).

        Raises
        ------
        TakeError
            If they cannot be read (any more), or have not been kept.
        """
        if self._file is not None:
            return self._kept_stretch(first, last)
        chunks = [self._chunk(i) for i in range(first // _CHUNK, -(-last // _CHUNK))]
        start = first - first % _CHUNK
        found = np.concatenate([np.zeros((self._channels, 0), np.float32), *chunks], axis=1)
        found = found[:, first - start : last - start]
        if found.shape[1] < last - first:
            raise TakeError(f"{self._take.path} was changed while it was open: open it again.")
        return found

    def _kept_stretch(self, first: int, last: int) -> Float32:
        assert self._file is not None
        size = self._channels * np.dtype(_Cells).itemsize
        with self._lock:
            self._file.seek(first * size)
            data = self._file.read((last - first) * size)
        if len(data) < (last - first) * size:
            raise TakeError(f"{self._take.path} cannot be read sample by sample: make room on the disk.")
        return np.frombuffer(data, dtype=_Cells).reshape(-1, self._channels).T.astype(np.float32)


def _read_chunk(path: Path, channels: int, index: int) -> Float32:
    try:
        block = sound_file.stretch(path, index * _CHUNK, _CHUNK)
    except OSError as error:
        raise cannot_read(path, error) from error
    return np.ascontiguousarray(block[:, :channels].T)
