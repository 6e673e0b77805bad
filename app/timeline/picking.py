"""What lies under the pointer: a pure function from pixels to a frozen target."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.span import Span
from app.state import Place
from app.timeline.lines import Indices, Lines, shown
from core.checks import Floats

GRAB = 6.0
"""Pixels to both sides of a line within which it is taken hold of."""

GRAB_HEAD = 12.0
"""The same for the head of a bar line, which is wider."""

HEAD = 20
"""Pixels of the top in which bar lines have their heads."""

ONSETS = 18
"""Pixels of the bottom in which onset marks stand."""

GRAB_ONSET = 4.0
"""Pixels to both sides of an onset mark within which it is meant."""

ROUNDING = 1e-6
"""Pixels that going to seconds and back may cost."""


@dataclass(frozen=True, slots=True)
class Line:
    """A bar line."""

    place: Place
    time: float


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat inside a bar."""

    place: Place
    time: float


@dataclass(frozen=True, slots=True)
class Onset:
    """The mark of an onset."""

    time: float


@dataclass(frozen=True, slots=True)
class Empty:
    """Nothing but a moment of the take."""

    time: float


@dataclass(frozen=True, slots=True)
class SectionBlock:
    """A section, anywhere but at its first bar line."""

    bar: int
    time: float


@dataclass(frozen=True, slots=True)
class SectionEdge:
    """The bar line a section begins with."""

    bar: int
    time: float


Target = Line | Beat | Onset | Empty


def pick(x: float, y: float, *, lines: Lines | None, onsets: Floats | None, span: Span, height: float) -> Target:
    """Find what is under the pointer in the lane with the bar lines.

    Where lines stand close, each keeps a third of the way to the next, so that there is always room between two of
    them. Only what is shown can be picked.

    Parameters
    ----------
    x, y : float
        Logical pixels from the top left of the lane.
    lines : Lines or None
        Bar lines and beats, where there are any yet.
    onsets : (n,) float or None
        Seconds of each onset, ascending.
    span : Span
        What is on screen.
    height : float
        Of the lane in logical pixels.
    """
    if lines is not None:
        there = shown(lines, span, around=GRAB_HEAD)
        reach = GRAB_HEAD if y < HEAD else GRAB
        line = _nearest(x, lines, there.bars, span, reach)
        beat = _nearest(x, lines, there.beats, span, GRAB)
        if line is not None and (beat is None or line[1] <= beat[1] or y < HEAD):
            return Line(lines.place(line[0]), float(lines.time[line[0]]))
        if beat is not None:
            return Beat(lines.place(beat[0]), float(lines.time[beat[0]]))
    time = span.time_at(x)
    if onsets is not None and len(onsets) and y >= height - ONSETS:
        i = _closest(onsets, time)
        if abs(span.x_of(float(onsets[i])) - x) <= GRAB_ONSET + ROUNDING:
            return Onset(float(onsets[i]))
    return Empty(time)


def _closest(times: Floats, time: float) -> int:
    after = int(np.clip(np.searchsorted(times, time), 1, max(len(times) - 1, 1)))
    return after - 1 if len(times) == 1 or time - times[after - 1] <= times[after] - time else after


def _nearest(x: float, lines: Lines, among: Indices, span: Span, reach: float) -> tuple[int, float] | None:
    """Index of the nearest line, and pixels to it; None if it is out of reach."""
    if not len(among):
        return None
    times = lines.time[among]
    i = _closest(times, span.time_at(x))
    scale = span.seconds_per_pixel
    room = np.diff(times[max(i - 1, 0) : i + 2])
    if len(room):
        reach = min(reach, float(room.min()) / scale / 3)
    away = abs(float(times[i]) - span.time_at(x)) / scale
    return (int(among[i]), away) if away <= reach + ROUNDING else None
