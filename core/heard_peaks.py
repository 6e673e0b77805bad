"""The peaks of a recording seen through an arrangement: what a waveform of the take as heard is painted from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.passages import Passages
from core.peaks import Peaks
from core.take import AudioTake

Float32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class HeardPeaks(Peaks):
    """As `Peaks`, in take time.

    Parameters
    ----------
    recording : Peaks
        Of the recording; `levels` and `samples` are its own.
    passages : Passages
        What is heard of it.
    """

    recording: Peaks
    passages: Passages

    @classmethod
    def of(cls, recording: Peaks, passages: Passages, take: AudioTake) -> HeardPeaks:
        """See peaks through passages; `take` tells how long what is heard is."""
        return cls(take, take.frames, recording.levels, recording.peak, recording.samples, recording, passages)

    def columns(self, start: float, end: float, width: int) -> Float32:
        """Extremes in each column; one that a seam lies in has those of the passage at its middle."""
        return self._through(start, end, width, self.recording.columns)

    def body(self, start: float, end: float, width: int) -> Float32:
        """Mean of the finer extremes in each column."""
        return self._through(start, end, width, self.recording.body)

    def curve(self, start: float, end: float) -> tuple[Floats, Float32]:
        """Samples of a stretch, with their moments in take time."""
        times, values = [np.zeros(0)], [np.zeros((self.channels, 0), np.float32)]
        for low, high, shift in self._pieces(start, end):
            moments, samples = self.recording.curve(low + shift, high + shift)
            inside = (moments - shift >= low) & (moments - shift < high)
            if len(moments) == samples.shape[1]:
                times.append(moments[inside] - shift)
                values.append(samples[:, inside])
        return np.concatenate(times), np.concatenate(values, axis=1)

    def _pieces(self, start: float, end: float) -> list[tuple[float, float, float]]:
        """Stretches of take time that lie in one passage each, and how much later the recording has them."""
        found = []
        for part, joint in zip(self.passages.parts, self.passages.joints, strict=False):
            low, high = max(start, float(joint)), min(end, float(joint) + part.duration)
            if low < high:
                found.append((low, high, part.start - float(joint)))
        return found

    def _through(
        self, start: float, end: float, width: int, columns: Callable[[float, float, int], Float32]
    ) -> Float32:
        each = (end - start) / width
        out = np.full((self.channels, width, 2), np.nan, dtype=np.float32)
        for low, high, shift in self._pieces(start, end):
            first, last = (round((moment - start) / each) for moment in (low, high))
            if first < last:
                begin = start + first * each + shift
                out[:, first:last] = columns(begin, begin + (last - first) * each, last - first)
        return out
