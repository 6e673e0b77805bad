"""Samples of a take as sound that is read from any place: what looks for quiet places reads it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.read_audio import blocks
from core.samples import Samples
from core.take import AudioTake

Float32 = NDArray[np.float32]


class SampledSound:
    """Sound of a take through `Samples`; silence outside it.

    Parameters
    ----------
    take : AudioTake
    samples : Samples
        Of the take, as many channels as are kept there.
    channels : int
    """

    def __init__(self, take: AudioTake, samples: Samples, channels: int) -> None:
        self.rate, self.frames, self.channels = take.rate, take.frames, channels
        self._samples = samples

    @classmethod
    def of(cls, take: AudioTake) -> SampledSound:
        """Read a take through, if its format has to be.

        Raises
        ------
        TakeError
            If it cannot be read.
        """
        channels = min(take.channels, 2)
        samples = Samples(take, channels)
        if samples.has_to_keep:
            for block in blocks(take):
                samples.keep(np.ascontiguousarray(block[:, :channels].T))
        return cls(take, samples, channels)

    def read(self, first: int, last: int) -> Float32:
        """Samples of the frames `first` up to `last`, shape (last - first, channels)."""
        out = np.zeros((last - first, self.channels), dtype=np.float32)
        begin, end = min(max(first, 0), self.frames), min(max(last, 0), self.frames)
        if begin < end:
            out[begin - first : end - first] = self._samples.stretch(begin, end).T
        return out
