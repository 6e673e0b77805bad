"""A source at less than its own speed, at the pitch it has."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from app.sound.sources import Source, Stereo

_SEGMENT = 0.8
"""Seconds, as played, that are stretched at once. The library keeps Python waiting meanwhile, 25 ms a second."""

_MARGIN = 0.15
"""Seconds of the take on both sides of a segment, so that its edges sound as in the middle of the take."""

_BLEND = 0.02
"""Seconds over which one segment goes over into the next."""


class Stretched:
    """Stretches segment by segment: each begins where it should, so no error of time adds up.

    Parameters
    ----------
    source : Source
    rate : int
        Frames a second, of the source and of what comes out.
    speed : float
        Below 1.
    """

    def __init__(self, source: Source, rate: int, speed: float) -> None:
        self._source, self._rate, self._speed = source, rate, speed
        self._size = round(_SEGMENT * rate)
        self._half = round(_BLEND * rate / 2)
        rise = np.sin(0.5 * np.pi * (np.arange(2 * self._half) + 0.5) / (2 * self._half)).astype(np.float32)
        self._rise = rise[:, None]
        self._segment = lru_cache(4)(self._stretch)

    def _stretch(self, index: int) -> Stereo:
        """Segment with half a blend on both sides."""
        from python_stretch import Signalsmith  # noqa: PLC0415 - not needed at full speed

        begin, end = (round(i * self._size * self._speed) for i in (index, index + 1))
        margin = round(_MARGIN * self._rate)
        rows = self._source.read(begin - margin, end - begin + 2 * margin)
        # The seed makes it the same each time.
        stretch = Signalsmith.Stretch(1)
        stretch.preset(2, self._rate)
        stretch.setTimeFactor(self._speed)
        made = np.asarray(stretch.process(np.ascontiguousarray(rows.T))).T
        start = round(margin / self._speed) - self._half
        piece = np.array(made[start : start + self._size + 2 * self._half], dtype=np.float32)
        piece[: 2 * self._half] *= self._rise
        piece[-2 * self._half :] *= self._rise[::-1]
        return piece

    def read(self, first: int, count: int) -> Stereo:
        """Frames as played."""
        out = np.zeros((count, 2), dtype=np.float32)
        size, half = self._size, self._half
        for i in range((first - half) // size, (first + count + half) // size + 1):
            at = i * size - half - first
            piece = self._segment(i)
            start, end = max(at, 0), min(at + len(piece), count)
            if start < end:
                out[start:end] += piece[start - at : end - at]
        return out

    def ready(self, first: int, count: int) -> bool:
        """Whether the source is, as far as the segments go."""
        start = (first - self._half) // self._size * self._size * self._speed - _MARGIN * self._rate
        length = (count + 2 * self._size) * self._speed + 2 * _MARGIN * self._rate
        return self._source.ready(int(start), int(length) + 1)
