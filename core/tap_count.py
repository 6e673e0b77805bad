"""Which beat or bar line each tap means: missed taps are counted, doubled and stray ones dropped.

The way of counting that keeps the steadiest tempo is found by a beam search. Lines that the musician
placed are counted with the taps and are never passed over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log, log1p
from statistics import median
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.errors import PinError
from core.grid import Pin
from core.tap_places import Place, Places

BEAM = 12
"""Ways of counting that are followed side by side."""

AT_ONCE = 3
"""A step goes to one of so many next places: so many taps less one can be missed in a row."""

EVEN, LEAST, MOST = 0.8, 0.03, 0.25
"""The spread of the logarithm of the tempo at a tap is so much of the median change from one step to the next
around it, between two bounds."""

AROUND = 12
"""Over so many steps on each side."""

MISSED, DOUBLED, STRAY = 3.5, 3.0, 9.0
"""Cost of a tap that is supposed missing, of one that doubles the one before, and of one that means nothing."""

BOUNCE = 0.25
"""A tap this many seconds after another can double it."""

LAST = 4
"""The tempo of so many steps before is what the next one is held against."""

SAME = 0.35
"""A tap nearer than this share of a step to a placed line, or to the tap before it, was meant for the same."""


class Hearing(Protocol):
    """What the onsets say of ways to count."""

    def usual(self, time: float) -> float:
        """Log seconds a quarter lasts around a time."""

    def missed(self, begin: float, end: float, steps: Sequence[Place], stray: float) -> float:
        """Log odds that taps for the inner places were missed; see `core.tap_missed.Missing.odds`."""

    def unlike(self, tap: int, place: Place) -> float:
        """How much less than any other level of beat a tap looks like that of a place, 0 or more."""


@dataclass(frozen=True, slots=True)
class Counted:
    """A tap or a placed line whose place in the score is known.

    Parameters
    ----------
    time : float
        Seconds, as tapped or placed.
    place : int
        Index into `Places.all`.
    tap : int or None
        Which tap it is, None for a placed line.
    """

    time: float
    place: int
    tap: int | None


@dataclass(frozen=True, slots=True)
class _Way:
    cost: float
    place: int
    time: float
    tempi: tuple[float, ...]
    # Ways share their pasts: each step points back at the one before it.
    last: tuple[Counted, object | None]


@dataclass(frozen=True, slots=True)
class _Event:
    time: float
    tap: int | None
    pin: Pin | None
    # How much the tempo is expected to stray here.
    stray: float
    # Taps and unnumbered lines have to leave room for the next numbered one.
    limit: int


def count(times: Floats, places: Places, pins: Sequence[Pin], hearing: Hearing | None = None) -> list[Counted]:
    """Count the taps of one pass.

    Parameters
    ----------
    times : (n,) float
        Taps in seconds, ascending, at least one.
    places : Places
        The first of them is that of the first tap.
    pins : sequence of Pin
        Lines the musician placed, in order of time; those among the taps are counted with them.

    Returns
    -------
    list of Counted
        Taps and placed lines in order of time and of place, those left out that mean nothing.

    Raises
    ------
    PinError
        If a placed line cannot be reached from the first tap.
    """
    single = without_doubles(times)
    gap = float(np.median(np.diff(times[single]))) if len(single) > 1 else inf
    events = _events(times, single, places, pins, gap)
    first = events[0]
    start = 0
    if first.pin is not None and first.pin.bar is not None:
        start = places.index(first.pin.bar, first.pin.beat) or 0
    begin = Counted(first.time, start, first.tap)
    step = places.after(0, 1)
    pace = log(gap / (places.quarters[step[0]] - places.quarters[0])) if len(single) > 1 and step else 0.0
    ways = [_Way(0.0, start, first.time, (pace,), (begin, None))]
    for event in events[1:]:
        ways = _onward(ways, event, places, hearing)
    last: object | None = min(ways, key=lambda way: way.cost).last
    counted: list[Counted] = []
    while isinstance(last, tuple):
        counted.append(last[0])
        last = last[1]
    return counted[::-1]


def without_doubles(times: Floats) -> NDArray[np.int64]:
    """Indices of the taps that do not follow the one before at a small part of the usual distance."""
    gaps = np.diff(times)
    kept: list[int] = []
    for i, time in enumerate(times):
        usual = np.median(gaps[max(0, i - 6) : i + 6]) if len(gaps) else 0.0
        if not kept or time - times[kept[-1]] >= SAME * usual:
            kept.append(i)
    return np.array(kept, dtype=np.int64)


def _events(
    times: Floats, single: NDArray[np.int64], places: Places, pins: Sequence[Pin], gap: float
) -> list[_Event]:
    reach = 0.5 * gap if gap < inf else 0.0
    among = [pin for pin in pins if times[0] - reach <= pin.time <= times[-1] + reach]
    known: list[tuple[float, int | None, Pin | None]] = [(pin.time, None, pin) for pin in among]
    tapped, taken = set(places.tapped), []
    all_lines = set(places.lines) <= tapped
    for pin in among:
        index = None if pin.bar is None else places.index(pin.bar, pin.beat)
        if pin.bar is not None and index is None:
            # Before the first place, or far beyond what could be counted up to.
            raise PinError(_unreached(pin))
        if index in tapped or (index is None and all_lines):
            taken.append(pin.time)
    near = np.array(taken)
    known += [
        (float(times[i]), int(i), None)
        for i in single
        if not len(near) or float(np.min(np.abs(near - times[i]))) > SAME * gap
    ]
    ordered = sorted(known, key=lambda item: item[0])
    stray = stray_of(np.array([time for time, _, _ in ordered]))
    events: list[_Event] = []
    limit = len(places.all)
    for (time, tap, line), off in zip(reversed(ordered), stray[::-1], strict=True):
        events.append(_Event(time, tap, line, off, limit))
        if line is not None and line.bar is not None:
            limit = places.index(line.bar, line.beat) or 0
        elif line is not None:
            limit -= 1
    return events[::-1]


def stray_of(times: Floats) -> list[float]:
    """How far the logarithm of the tempo is expected to stray at each tap."""
    changes = np.abs(np.diff(np.log(np.maximum(np.diff(times), 1e-3))))
    if not len(changes):
        return [MOST] * len(times)
    around = [changes[max(0, min(i, len(changes)) - AROUND) : i + AROUND] for i in range(len(times))]
    return [float(np.clip(EVEN * np.median(near), LEAST, MOST)) for near in around]


def _onward(ways: list[_Way], event: _Event, places: Places, hearing: Hearing | None) -> list[_Way]:
    best: dict[tuple[int, float], _Way] = {}
    quarters = places.quarters
    for way in ways:
        if event.pin is None:
            goals = places.after(way.place, AT_ONCE)
            dropped = DOUBLED if event.time - way.time < BOUNCE else STRAY
            _keep(best, _Way(way.cost + dropped, way.place, way.time, way.tempi, way.last))
        elif event.pin.bar is None:
            goals = places.after(way.place, AT_ONCE + 1, lines=True)
        else:
            index = places.index(event.pin.bar, event.pin.beat)
            goals = (index,) if index is not None and index > way.place else ()
        usual = median(way.tempi)
        for goal in goals:
            if goal >= event.limit:
                break
            passed = tuple(i for i in places.after(way.place, AT_ONCE) if i < goal)
            tempo = log(max(event.time - way.time, 1e-3) / (quarters[goal] - quarters[way.place]))
            if hearing is None:
                cost = log1p(((tempo - usual) / event.stray) ** 2) + MISSED * len(passed)
            else:
                cost = _heard(way, event, [way.place, *passed, goal], places, hearing)
            counted = Counted(event.time, goal, event.tap)
            tempi = (*way.tempi[-LAST + 1 :], tempo) if way.last[1] is not None else (usual, tempo)
            _keep(best, _Way(way.cost + cost, goal, event.time, tempi, (counted, way.last)))
    if not best:
        assert event.pin is not None
        raise PinError(_unreached(event.pin))
    return sorted(best.values(), key=lambda way: way.cost)[:BEAM]


def _heard(way: _Way, event: _Event, steps: Sequence[int], places: Places, hearing: Hearing) -> float:
    """Cost of a step, by all that is heard of it: that of a step to the first place, less the odds of more."""
    which = [places.all[i] for i in steps]
    length = max(event.time - way.time, 1e-3)
    usual = hearing.usual(0.5 * (event.time + way.time))
    tempo = log(length / float(which[1].position - which[0].position))
    cost = log1p(((tempo - usual) / event.stray) ** 2)
    if len(steps) > 2:
        cost -= hearing.missed(way.time, event.time, which, event.stray)
    return cost + (hearing.unlike(event.tap, which[-1]) if event.tap is not None else 0.0)


def _keep(best: dict[tuple[int, float], _Way], way: _Way) -> None:
    key = (way.place, way.time)
    if key not in best or way.cost < best[key].cost:
        best[key] = way


def _unreached(pin: Pin) -> str:
    line = "The placed line" if pin.bar is None else f"Bar {pin.bar}"
    return f"{line} at {pin.time:.3f} s cannot be counted to from the first tap: check the bar of the first tap."
