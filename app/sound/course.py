"""Which moment of the take is heard at which frame of what is played.

Frames of the take are counted as they are played: at half speed a second of take time has twice as many. So a
speed is no more than another scale between frames and take time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

import numpy as np

from app.sound.clicks import CountIn

SLOWEST = 0.5
"""The least speed; below it a take falls apart."""

BETWEEN = 0.35
"""Seconds of silence between two stretches, so that the ear takes them for two."""


FADE = 0.012
"""Seconds in which the take comes in before each stretch, and goes at its end."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a stretch that is played without a break.

    Parameters
    ----------
    out : int
        Frame of the course at which its stretch begins.
    first, last : int
        Frames of the take where the stretch begins and ends.
    """

    out: int
    first: int
    last: int


@dataclass(frozen=True)
class Course:
    """Stretches of a take one after the other, once or again and again.

    Parameters
    ----------
    stretches : tuple of (float, float)
        Seconds of take time; each ends after it begins.
    rate : int
        Frames a second.
    speed : float
        `SLOWEST` to 1.
    loop : bool
        Whether all of them begin anew at the end.
    lead : float
        Seconds, as played, before the first stretch.
    enter : float
        Seconds, as played, by which the first time through begins later.
    """

    stretches: tuple[tuple[float, float], ...]
    rate: int
    speed: float = 1.0
    loop: bool = False
    lead: float = 0.0
    enter: float = 0.0

    def frame(self, seconds: float) -> int:
        """Frame of the take at seconds of take time."""
        return round(seconds * self.rate / self.speed)

    @cached_property
    def lead_frames(self) -> int:
        """Frames before the first stretch."""
        return round(self.lead * self.rate)

    @cached_property
    def _spans(self) -> tuple[tuple[int, int], ...]:
        spans = [(self.frame(start), self.frame(end)) for start, end in self.stretches]
        return tuple((first, max(last, first + 1)) for first, last in spans)

    @cached_property
    def _gap(self) -> int:
        return round(BETWEEN * self.rate) if len(self._spans) > 1 else 0

    @cached_property
    def _begins(self) -> tuple[int, ...]:
        """Frame of a lap at which each stretch begins, and the length of a lap."""
        return tuple(accumulate((last - first + self._gap for first, last in self._spans), initial=0))

    @cached_property
    def _origin(self) -> int:
        """Frame at which the first time through would have begun."""
        return self.lead_frames - round(self.enter * self.rate) % self._begins[-1]

    @property
    def frames(self) -> int | None:
        """How many there are; None for a loop, which has no end."""
        # Nothing follows the last stretch.
        return None if self.loop else self._origin + self._begins[-1] - self._gap

    def take_time(self, frame: float) -> float | None:
        """Seconds of take time at a frame; None before and after the course.

        In the lead it runs up to the first stretch; between two stretches it stays at the end of the one before.
        """
        end = self.frames
        if frame < 0 or (end is not None and frame >= end):
            return None
        scale = self.speed / self.rate
        if frame < self.lead_frames:
            # Up to where the take comes in.
            into = self.lead_frames - self._origin
            i = int(np.searchsorted(self._begins, into, side="right")) - 1
            return (self._spans[i][0] + into - self._begins[i] + frame - self.lead_frames) * scale
        at = (frame - self._origin) % self._begins[-1]
        i = int(np.searchsorted(self._begins, at, side="right")) - 1
        first, last = self._spans[i]
        return min(first + at - self._begins[i], last) * scale

    def lap(self, frame: float) -> int:
        """How often all stretches have been heard at a frame."""
        return max(int((frame - self._origin) // self._begins[-1]), 0)

    def elapsed(self, frame: float) -> float:
        """Seconds, as played, of the present time through at a frame."""
        return max(frame - self._origin, 0) % self._begins[-1] / self.rate

    def pieces(self, first: int, last: int) -> Iterator[Piece]:
        """Stretches any part of which lies in frames `first` up to, not including, `last`."""
        length = self._begins[-1]
        lap = self.lap(first)
        # The last stretch of the lap before may still be fading out.
        for k in range(max(lap - 1, 0), self.lap(last) + 1 if self.loop else 1):
            for begin, (start, end) in zip(self._begins, self._spans, strict=False):
                out = self._origin + k * length + begin
                late = max(self.lead_frames - out, 0)
                if late < end - start and out + late < last and out + end - start > first:
                    yield Piece(out + late, start + late, end)


def course_of(
    stretches: tuple[tuple[float, float], ...],
    rate: int,
    speed: float,
    loop: bool,
    count_in: CountIn | None,
    enter: float = 0.0,
) -> Course:
    """Course with room before it for what is counted, or at least for the take to come in."""
    lead = 0.0 if count_in is None else count_in.length / speed
    return Course(stretches, rate, speed, loop, max(lead, FADE), enter)
