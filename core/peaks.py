"""What a waveform is painted from: the extremes of an audio take at every scale, down to its samples."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.errors import TakeError
from core.read_audio import blocks
from core.samples import Samples
from core.take import AudioTake

Float32 = NDArray[np.float32]

CHANNELS = 2
"""Channels of a take that are kept."""

BASE = 64
"""Samples that the finest pair of extremes stands for; each further level stands for `_STEP` times as many."""

_STEP = 4
_LEVELS = 7
_CHUNK = BASE * _STEP ** (_LEVELS - 1)
"""Frames worked in at a time: one entry of the coarsest level."""

_ENTRIES = 8
"""Entries that a column is made of at least, where there are so many: its edges are an eighth of this exact."""

_OFTEN = 0.15
"""Seconds between two pictures of a take that is being read."""


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Lowest and highest samples of a take, read-only; of the first two channels, if there are more.

    Ten minutes of stereo at 44100 Hz take 9 MB, two hours 106 MB.

    Parameters
    ----------
    take : AudioTake
    frames : int
        Frames read so far; all of the take's in the end.
    levels : tuple of (channels, 2, entries) float32
        Lowest and highest of 64, 256, 1024, ... samples; the last entry of each may stand for fewer.
    peak : float
        The largest distance from zero among them.
    samples : Samples
        Where stretches are read that are to be seen sample by sample.
    """

    take: AudioTake
    frames: int
    levels: tuple[Float32, ...]
    peak: float
    samples: Samples

    @property
    def channels(self) -> int:
        """Channels kept: one or two."""
        return len(self.levels[0])

    def columns(self, start: float, end: float, width: int) -> Float32:
        """Return the extremes in each column of a picture.

        A sample belongs to one column and no other. Below 64 samples a column it is the one its moment falls in;
        above, samples go by 64, 256, ... to the column that the middle of these falls in.

        Parameters
        ----------
        start, end : float
            Seconds of take time at the left edge of the first and the right edge of the last column; they may lie
            outside the take.
        width : int
            Columns.

        Returns
        -------
        (channels, width, 2) float32
            Lowest and highest sample; NaN where there is none.
        """
        values, edges, _ = self._entries(start, end, width)
        return _reduced(values, edges, np.minimum, np.maximum)

    def body(self, start: float, end: float, width: int) -> Float32:
        """Return the mean of the finer extremes in each column: how far the sound goes most of the time.

        As `columns`, within which it lies; the same where a column has no finer extremes.
        """
        values, edges, block = self._entries(start, end, width)
        if block == 1:
            return _reduced(values, edges, np.minimum, np.maximum)
        counts = np.maximum(np.diff(np.clip(edges, 0, values.shape[2])), 1).astype(np.float32)
        return _reduced(values, edges, np.add, np.add) / counts[:, None]

    def curve(self, start: float, end: float) -> tuple[Floats, Float32]:
        """Return the samples of a stretch themselves, and the next ones beyond both its ends.

        Returns
        -------
        times : (n,) float
            Their moments in seconds.
        values : (channels, n) float32
            Nothing, if they cannot be read.
        """
        rate = self.take.rate
        first, last = max(int(np.floor(start * rate)), 0), min(int(np.ceil(end * rate)) + 1, self.frames)
        last = max(first, last)
        try:
            values = self.samples.stretch(first, last)
        except TakeError:
            last, values = first, np.zeros((self.channels, 0), np.float32)
        return np.arange(first, last) / rate, values

    def _entries(self, start: float, end: float, width: int) -> tuple[Float32, NDArray[np.int64], int]:
        """Return entries (channels, 2, n) to make columns of, at which of them these begin, and their length."""
        rate = self.take.rate
        each = (end - start) * rate / width
        moments = start * rate + each * np.arange(width + 1)
        if each < BASE:
            edges = np.ceil(moments).astype(np.int64)
            first, last = (int(edge) for edge in np.clip(edges[[0, -1]], 0, self.frames))
            return self._each(first, last), edges - first, 1
        level = 0
        while level + 1 < len(self.levels) and each >= _ENTRIES * BASE * _STEP ** (level + 1):
            level += 1
        block = BASE * _STEP**level
        return self.levels[level], np.ceil(moments / block - 0.5).astype(np.int64), block

    def _each(self, first: int, last: int) -> Float32:
        """Return every sample as the lowest and highest of itself, (channels, 2, samples)."""
        try:
            samples = self.samples.stretch(first, last)
        except TakeError:
            # A picture is no place to complain: the finest extremes stand in.
            coarse = self.levels[0][:, :, first // BASE : -(-last // BASE)]
            return np.repeat(coarse, BASE, axis=2)[:, :, first % BASE : first % BASE + last - first]
        return np.broadcast_to(samples[:, None], (len(samples), 2, last - first))


def build(
    take: AudioTake,
    *,
    progress: Callable[[float], None] | None = None,
    partial: Callable[[Peaks], None] | None = None,
) -> Peaks:
    """Read a take through once.

    Parameters
    ----------
    take : AudioTake
    progress : callable, optional
        Called with the share done, 0 to 1. It may raise to stop the reading.
    partial : callable, optional
        Called with what has been read so far, soon after the start and then a few times a second.

    Raises
    ------
    TakeError
        As `core.read_audio.blocks` does.
    """
    channels = min(take.channels, CHANNELS)
    samples = Samples(take, channels)
    sizes = [BASE * _STEP**level for level in range(_LEVELS)]
    levels = [np.zeros((channels, 2, -(-take.frames // size)), np.float32) for size in sizes]
    done, peak, told = 0, 0.0, -np.inf

    def so_far() -> Peaks:
        views = tuple(level[:, :, : -(-done // size)] for level, size in zip(levels, sizes, strict=True))
        for view in views:
            view.setflags(write=False)
        return Peaks(take, done, views, peak, samples)

    for block in blocks(take, seconds=_CHUNK / take.rate):
        if done + len(block) > take.frames:
            raise TakeError(f"{take.path} was changed while it was read: open it again.")
        rows = np.ascontiguousarray(block[:, :channels].T)
        samples.keep(rows)
        entries = np.broadcast_to(rows[:, None], (channels, 2, rows.shape[1]))
        for level, size in zip(levels, sizes, strict=True):
            entries = _coarser(entries, BASE if size == BASE else _STEP)
            level[:, :, done // size : done // size + entries.shape[2]] = entries
        done += rows.shape[1]
        peak = max(peak, float(np.abs(entries).max(initial=0.0)))
        if progress:
            progress(done / take.frames)
        if partial and time.monotonic() - told > _OFTEN:
            partial(so_far())
            told = time.monotonic()
    return so_far()


def _coarser(entries: Float32, step: int) -> Float32:
    """Return the extremes of so many entries each; what is left over at the end makes one more."""
    channels, _, length = entries.shape
    if missing := -length % step:
        entries = np.concatenate([entries, np.repeat(entries[:, :, -1:], missing, axis=2)], axis=2)
    lows, highs = (entries[:, side].reshape(channels, -1, step) for side in (0, 1))
    return np.stack([lows.min(axis=2), highs.max(axis=2)], axis=1)


def _reduced(values: Float32, edges: NDArray[np.int64], low: np.ufunc, high: np.ufunc) -> Float32:
    channels, _, length = values.shape
    edges = np.clip(edges, 0, length)
    filled = np.flatnonzero(np.diff(edges) > 0)
    columns = np.full((channels, len(edges) - 1, 2), np.nan, dtype=np.float32)
    if len(filled):
        starts, inside = edges[filled], values[:, :, : edges[-1]]
        columns[:, filled, 0] = low.reduceat(inside[:, 0], starts, axis=1)
        columns[:, filled, 1] = high.reduceat(inside[:, 1], starts, axis=1)
    return columns
