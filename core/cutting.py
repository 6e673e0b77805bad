"""From what is on screen to an edit of what is heard: where exactly pauses are shortened and passages begin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from core.arrangement import Arrangement
from core.edits import BringBack, Divide, KeepOnly, LeaveOut, Tighten
from core.errors import InputError
from core.grid import Grid
from core.hesitations import Hesitation
from core.passages import Passage
from core.quiet_place import Loudness, quietest
from core.units import clock

BEFORE = (0.02, 0.07)
"""Seconds before what a passage begins with at which it may be cut, at the latest and at the earliest.

All passages of a take are cut as far before their beats: then the bar between any two of them is as long as it
was, whichever order they are put in.
"""

_MOVED = 0.02
"""Seconds by which a beat may have been moved since a passage was cut before it."""

EDGE = 0.05
"""Seconds of a pause that stay at either end."""

LEAST = 0.02
"""Less is not worth a cut, in seconds."""


def tighten(
    pauses: Sequence[Hesitation], level: Loudness, *, length: float | None = None, share: float = 1.0
) -> Tighten:
    """Make pauses shorter.

    Parameters
    ----------
    pauses : sequence of Hesitation
    level : Loudness
        Of the recording.
    length : float, optional
        Seconds they get; as long as their neighbours suggest where not given.
    share : float
        Share of what each would save that is taken out, where no length is given.

    Raises
    ------
    InputError
        If none is given, or a pause would get longer.
    """
    if not pauses:
        raise InputError("No pause is chosen: choose one of the list first.")
    if length is not None and length < 0:
        raise InputError(f"A pause of {length:.3f} s cannot be: give 0 or more.")
    taken = []
    for pause in pauses:
        seconds = pause.saves * share if length is None else pause.end - pause.start - length
        seconds = min(seconds, pause.end - pause.start - 2 * EDGE)
        if seconds < LEAST:
            continue
        low, high = pause.start + EDGE, pause.end - EDGE - seconds
        start = quietest(level, (0.0, seconds), low, max(high, low))
        taken.append(Passage(start, start + seconds))
    return Tighten(tuple(Passage(pause.start, pause.end) for pause in pauses), tuple(taken))


def as_played(pauses: Sequence[Hesitation]) -> Tighten:
    """Give pauses the length back that they were played with."""
    return Tighten(tuple(Passage(pause.start, pause.end) for pause in pauses), ())


def early(arrangement: Arrangement, grid: Grid) -> float | None:
    """Tell by how much the passages of an arrangement are cut before their beats.

    Returns
    -------
    float or None
        Seconds; None where none is cut at a beat.
    """
    beats = grid.beat_times
    for moment in (end for passage in arrangement.order for end in (passage.start, passage.end)):
        at = int(np.searchsorted(beats, moment))
        before = float(beats[at] - moment) if at < len(beats) else 0.0
        if BEFORE[0] - _MOVED < before < BEFORE[1] + _MOVED:
            return before
    return None


def cut(
    stretches: Sequence[tuple[float, float]], level: Loudness, duration: float, *, before: float | None = None
) -> tuple[Passage, ...]:
    """Shift both ends of all stretches together to quiet places just before; the ends of the recording stay.

    Parameters
    ----------
    stretches : sequence of (float, float)
        Seconds of recording time.
    level : Loudness
        Of the recording.
    duration : float
        Its seconds.
    before : float, optional
        Seconds by which they are shifted, as other passages have been already.

    Raises
    ------
    InputError
        If there is nothing between the ends of one.
    """
    held = [(max(start, 0.0), min(end, duration)) for start, end in stretches]
    for start, end in held:
        if end - start < LEAST:
            raise InputError(f"There is nothing between {clock(start)} and {clock(max(end, 0.0))}: choose more.")
    inner = tuple(moment for ends in held for moment in ends if BEFORE[1] < moment < duration)
    shift = -before if before is not None else quietest(level, inner, -BEFORE[1], -BEFORE[0]) if inner else 0.0
    return tuple(
        Passage(start + shift if start in inner else 0.0, end + shift if end in inner else duration)
        for start, end in held
    )


def leave_out(
    start: float, end: float, level: Loudness, duration: float, *, before: float | None = None
) -> LeaveOut:
    """Leave a stretch out: what comes after it begins where the stretch would have; `before` as in `cut`."""
    (stretch,) = cut([(start, end)], level, duration, before=before)
    return LeaveOut(stretch, duration)


def keep_only(
    start: float, end: float, level: Loudness, duration: float, *, before: float | None = None
) -> KeepOnly:
    """Keep a stretch alone; `before` as in `cut`."""
    (stretch,) = cut([(start, end)], level, duration, before=before)
    return KeepOnly(stretch, duration)


def bring_back(start: float, end: float, duration: float) -> BringBack:
    """Hear again what was left out between two moments."""
    return BringBack(Passage(max(start, 0.0), min(end, duration)), duration)


def divide(time: float, level: Loudness, duration: float, *, before: float | None = None) -> Divide:
    """Divide a passage before what begins at a moment; `before` as in `cut`."""
    shift = -before if before is not None else quietest(level, (time,), -BEFORE[1], -BEFORE[0])
    return Divide(max(time + shift, 0.0), duration)


def bars_stretch(grid: Grid, first: int, last: int) -> tuple[float, float]:
    """Seconds from a bar line to the one after another bar.

    Raises
    ------
    InputError
        If there are no such bars.
    """
    lines = {line.bar: line.time for line in grid.bar_lines}
    if first > last or first not in lines or last + 1 not in lines:
        bars = grid.bar_lines
        raise InputError(f"There are no bars {first} to {last}: the bars are {bars[0].bar} to {bars[-1].bar - 1}.")
    return lines[first], lines[last + 1]


def bars_around(grid: Grid, first: int, last: int, duration: float) -> tuple[float, float]:
    """Seconds from a bar's line to the end of another bar, as far as there are lines; else to the take's ends."""
    lines = grid.bar_lines
    numbers = [line.bar for line in lines]
    start = lines[numbers.index(first)].time if first in numbers else 0.0
    end = lines[numbers.index(last + 1)].time if last + 1 in numbers else duration
    return max(start, 0.0), min(end, duration)
