"""Tempo events whose rounding to whole microseconds never adds up.

A tempo event says whole microseconds a quarter note. Each is chosen from the exact time that is left to its goal,
what earlier rounding did being counted in, so the error stays that of one step however long the session is.
Accounts are kept in whole units of a microsecond divided by the division, in which every tick is exact.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

from core.errors import HandoverError, InputError
from core.session import Session
from core.tempo_map import TempoMap
from core.units import MAX_TEMPO_US, MICROSECONDS, quarters_per_minute

ALLOWED_US = 8
"""Microseconds a bar line or knot may be off before another tempo event is spent on it."""


@dataclass(frozen=True, slots=True)
class TempoTrack:
    """Tempo events as they are written.

    Parameters
    ----------
    division : int
        Ticks a quarter note.
    ticks, us : tuple of int
        Where each event stands, and the microseconds a quarter note lasts from there.
    bars : tuple of int
        Ticks of the session's bar lines from 1 to the last.
    sounding : TempoMap
        Quarters against the seconds at which a sequencer reaches them.
    """

    division: int
    ticks: tuple[int, ...]
    us: tuple[int, ...]
    bars: tuple[int, ...]
    sounding: TempoMap


def check_division(division: int) -> None:
    """Refuse a division that is not used.

    Raises
    ------
    InputError
        If it is not 96 to 15360.
    """
    if not 96 <= division <= 15360:
        raise InputError(f"{division} ticks a quarter note cannot be; choose 96 to 15360, such as 960.")


def tempo_track(session: Session, *, division: int) -> TempoTrack:
    """Round a session's tempo map to tempo events at ticks.

    Raises
    ------
    InputError
        If the division is not 96 to 15360, or a bar is no whole number of ticks in it.
    HandoverError
        If a passage is slower than a tempo event can say.
    """
    check_division(division)
    quarters = session.bar_quarters
    if any((quarter * division).denominator != 1 for quarter in quarters):
        raise InputError(
            f"{division} ticks a quarter note do not divide the bars evenly; choose a multiple of 16."
        )
    bars = [int(quarter * division) for quarter in quarters]
    tempo_map = session.tempo_map
    knots = {*np.rint(tempo_map.quarters * division).astype(np.int64).tolist(), bars[-1]}
    points = sorted(knots.union(bars))
    seconds = tempo_map.seconds_at(np.array(points) / division)
    goals = np.rint(seconds * (MICROSECONDS * division)).astype(np.int64).tolist()
    nexts = _next_knots(points, knots)

    ticks: list[int] = []
    tempi: list[int] = []
    reached: list[int] = []
    allowed, now, us = ALLOWED_US * division, 0, 0
    for i, point in enumerate(points[:-1]):
        length, left = points[i + 1] - point, goals[i + 1] - now
        steps = [(point, us)]
        if point in knots:
            steps = [(point, _nearest(goals[nexts[i]] - now, points[nexts[i]] - point))]
        if abs(steps[0][1] * length - left) > allowed:
            steps = [(point, _nearest(left, length))]
        if abs(steps[0][1] * length - left) > allowed:
            # Too long a way for one whole number of microseconds: the next number takes over where it must.
            short, rest = divmod(left, length)
            steps = [(point, short), (points[i + 1] - rest, short + 1)]
        for (tick, tempo), end in zip(steps, [*(tick for tick, _ in steps[1:]), points[i + 1]], strict=True):
            if tempo != us:
                _check(tempo, session, bisect_right(bars, tick))
                ticks.append(tick)
                tempi.append(tempo)
                reached.append(now)
            us = tempo
            now += tempo * (end - tick)
    sounding = TempoMap(
        np.array([*ticks, points[-1]]) / division, np.array([*reached, now]) / (MICROSECONDS * division)
    )
    return TempoTrack(division, tuple(ticks), tuple(tempi), tuple(bars), sounding)


def _next_knots(points: list[int], knots: set[int]) -> list[int]:
    """Index of the first knot after each point but the last."""
    nexts = [len(points) - 1] * len(points)
    for i in range(len(points) - 2, -1, -1):
        nexts[i] = i + 1 if points[i + 1] in knots else nexts[i + 1]
    return nexts


def _nearest(units: int, ticks: int) -> int:
    return (2 * units + ticks) // (2 * ticks)


def _check(us: int, session: Session, bar: int) -> None:
    named = f"Bar {bar - session.shift}" + (f" (bar {bar} of the session)" if session.shift else "")
    if us > MAX_TEMPO_US:
        raise HandoverError(
            f"{named} is slower than a MIDI file can say ({quarters_per_minute(MAX_TEMPO_US):.3f} quarters a "
            "minute): give it extra beats as a hold."
        )
    if us < 1:
        raise HandoverError(f"{named} is faster than a MIDI file can say; check the bar lines there.")
