"""Samples of a take whose format cannot be sought to the sample: decoded once, in a thread, to a file on disk."""

from __future__ import annotations

import tempfile
import threading

import numpy as np
from numpy.typing import NDArray

from core.errors import BarwrightError, TakeError
from core.read_audio import blocks
from core.take import AudioTake

_SCALE = 16384.0
"""Sixteen bits with room for samples up to twice full scale, which lossy formats may hold."""


class Decoded:
    """Reads stretches of the first channels of a take as far as it has been decoded.

    Four bytes a frame of stereo lie on disk, in a file without a name that goes with this object: 1.4 GB for two
    hours.
    """

    def __init__(self, take: AudioTake, channels: int) -> None:
        self._take, self._channels = take, channels
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed in `stop`
        self._lock = threading.Lock()
        self._kept = 0
        self._error: BarwrightError | OSError | None = None
        self._stopped = False
        self._ended = False
        self._thread = threading.Thread(target=self._decode, daemon=True)
        self._thread.start()

    def _decode(self) -> None:
        try:
            for block in blocks(self._take, seconds=1.0):
                scaled = np.clip(np.rint(block[:, : self._channels] * _SCALE), -32768, 32767)
                cells = np.ascontiguousarray(scaled, dtype=np.int16)
                with self._lock:
                    if self._stopped:
                        return
                    self._file.seek(self._kept * self._channels * 2)
                    self._file.write(cells.data)
                    self._kept += len(cells)
        except (BarwrightError, OSError) as error:
            self._error = error
        self._ended = True

    def done(self, last: int) -> bool:
        """Whether all samples up to, not including, `last` are there, or no more will come."""
        return self._ended or self._kept >= last

    def stretch(self, first: int, last: int) -> NDArray[np.float32]:
        """Return samples `first` up to, not including, `last`, as (channels, frames); waits until they are there.

        Raises
        ------
        TakeError, OSError
            If they cannot be decoded.
        """
        while not self.done(last):
            self._thread.join(0.01)
        size = self._channels * 2
        with self._lock:
            if self._kept < last:
                raise self._error or TakeError(f"{self._take.path} was changed while it was open: open it again.")
            self._file.seek(first * size)
            data = self._file.read((last - first) * size)
        cells = np.frombuffer(data, dtype=np.int16).reshape(-1, self._channels)
        return cells.T.astype(np.float32) / np.float32(_SCALE)

    def stop(self) -> None:
        """Decode no further and give the disk back."""
        with self._lock:
            self._stopped = True
            self._file.close()
