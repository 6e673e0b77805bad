"""Which lines are selected after a click or a key: pure functions from a selection to the next."""

from __future__ import annotations

from typing import Literal

from app.state import Place
from app.timeline.lines import Lines

Step = Literal["before", "after", "beat before", "beat after", "first", "last"]


def bars_through(lines: Lines, anchor: Place, place: Place) -> frozenset[Place]:
    """Bar lines from one bar to another, whichever comes first."""
    first, last = sorted((anchor[0], place[0]))
    return frozenset((bar, 1) for bar in lines.bar_number.tolist() if first <= bar <= last)


def bars_between(lines: Lines, start: float, end: float) -> frozenset[Place]:
    """Bar lines in a stretch of time, in seconds."""
    start, end = min(start, end), max(start, end)
    inside = (lines.bar_time >= start) & (lines.bar_time <= end)
    return frozenset((bar, 1) for bar in lines.bar_number[inside].tolist())


def stepped(lines: Lines, at: Place | None, step: Step, *, start: float) -> Place | None:
    """Find the line a key leads to.

    Parameters
    ----------
    lines : Lines
        Of the grid on screen.
    at : (int, int) or None
        The line the last key or click led to.
    step : str
        Where to.
    start : float
        Seconds from which to look where there is no such line yet.
    """
    among = list(range(len(lines))) if step.startswith("beat") else lines.bars.tolist()
    if not among:
        return None
    if step in ("first", "last"):
        return lines.place(among[0 if step == "first" else -1])
    known = None if at is None else lines.index(at)
    time = start if known is None else float(lines.time[known])
    if step.endswith("before"):
        found = [i for i in among if lines.time[i] < time][-1:] or among[:1]
    else:
        later = lines.time[among] > time if known is not None else lines.time[among] >= time
        found = [i for i, is_later in zip(among, later, strict=True) if is_later][:1] or among[-1:]
    return lines.place(found[0])
