"""A source at less than its own speed, at the pitch it has."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from app.sound.sources import Source, Stereo

_SEGMENT = 1.2
"""Seconds, as played, that are stretched at once. The library keeps Python waiting meanwhile, 30 ms a second."""

_MARGIN = 0.15
"""Seconds of the take on both sides of a segment, so that its edges sound as in the middle of the take."""

_BLEND = 0.04
"""Seconds over which one segment goes over into the next."""


class Stretched:
    """Stretches segment by segment: each begins where it should, so no error of time adds up.

    The library cannot go on where it stopped, and what it makes of one moment in two segments differs in phase.

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
        self._segment = lru_cache(4)(self._stretch)
        self._seam = lru_cache(4)(self._blend)

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
        return np.array(made[start : start + self._size + 2 * self._half], dtype=np.float32)

    def _blend(self, index: int) -> Stereo:
        """How the segment before goes over into this one, at the loudness that both have."""
        size = 2 * self._half
        out, into = self._segment(index - 1)[-size:], self._segment(index)[:size]
        angle = (0.5 * np.pi * (np.arange(size) + 0.5) / size)[:, None]
        fall, rise = np.cos(angle), np.sin(angle)
        power = np.sqrt(np.mean(out**2) * np.mean(into**2))
        # Where both go together their sum is louder than either, where they go against each other it is softer.
        alike = float(np.clip(np.mean(out * into) / power, -0.8, 1.0)) if power > 0 else 0.0
        level = np.sqrt(1.0 + 2.0 * fall * rise * alike)
        return np.asarray((fall * out + rise * into) / level, dtype=np.float32)

    def read(self, first: int, count: int) -> Stereo:
        """Frames as played."""
        out = np.zeros((count, 2), dtype=np.float32)
        size, half = self._size, self._half
        for i in range((first - half) // size, (first + count + half) // size + 1):
            begin, end = max(i * size - half, first), min(i * size + half, first + count)
            if begin < end:
                at = i * size - half
                out[begin - first : end - first] = self._seam(i)[begin - at : end - at]
            begin, end = max(i * size + half, first), min((i + 1) * size - half, first + count)
            if begin < end:
                at = i * size - half
                out[begin - first : end - first] = self._segment(i)[begin - at : end - at]
        return out

    def ready(self, first: int, count: int) -> bool:
        """Whether the source is, as far as the segments go."""
        start = ((first - self._half) // self._size - 1) * self._size * self._speed - _MARGIN * self._rate
        length = (count + 4 * self._size) * self._speed + 2 * _MARGIN * self._rate
        return self._source.ready(int(start), int(length) + 1)
