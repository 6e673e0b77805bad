"""From what is on screen to an edit: gestures on single bar lines and beats.

Those on ranges and metre are in `core.reshape`, those on passages and sections in `core.passage_gestures`; all can
be had from here. What cannot be done is refused with one sentence of `core.errors`; nothing is changed here.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

import numpy as np

from core.document import Document
from core.edits import Accept, Insert, LetGo, Nudge, Place, TakeOut
from core.errors import InputError, PinError
from core.grid import Beat, Grid, Pin
from core.line_edits import named
from core.onsets import Onsets
from core.passage_gestures import free, hold, move_section, name_section, remove_section, unfree
from core.preview import preview
from core.reshape import change_metre, count_from, double, halve, pickup, renumber, shift
from core.shown import between, index_of, need_own_beats, need_pulse, pin_of, shown

NEAR = 0.3
"""A line is meant, and not a new one beside it, when it is nearer than this share of its bar."""


def place_at(document: Document, grid: Grid, time: float) -> Place | Insert:
    """Place a bar line at a time.

    The bar line nearest to it is the one that is meant, while it is within 0.3 of the bar the time lies in;
    otherwise a bar line was missed, and one more is counted. Before the first line one is placed with the number
    before, after the last with the next.

    Raises
    ------
    PinError
        If a bar without a pulse or a pickup would be divided.
    """
    lines = grid.bar_lines
    i = bisect_right(lines, time, key=_time)
    before, after = lines[i - 1] if i else None, lines[i] if i < len(lines) else None
    nearest = min((line for line in (before, after) if line), key=lambda line: abs(line.time - time), default=None)
    if nearest is None:
        return Place(Pin(time, 1))
    bar = max(i - 1, 0) if after else max(i - 2, 0)
    length = lines[bar + 1].time - lines[bar].time if len(lines) > 1 else 0.0
    if abs(nearest.time - time) <= NEAR * length:
        return drag(document, grid, (nearest.bar, 1), time)
    if before is None:
        if document.metre.pickup:
            raise PinError(
                f"What lies before bar {nearest.bar} is the pickup: change the pickup to place a bar line in it."
            )
        return Place(Pin(time, nearest.bar - 1))
    if after is None:
        return Place(Pin(time, nearest.bar + 1))
    need_pulse(document, before.bar, before.bar)
    return Insert(Pin(time, after.bar), (pin_of(before), pin_of(after, after.bar + 1)))


def drag(document: Document, grid: Grid, place: tuple[int, int], time: float) -> Place:
    """Move a bar line or beat to a time, between its neighbours.

    Raises
    ------
    PinError
        If it would pass a neighbour, or is a beat of a bar that is held or has no pulse.
    """
    beat = shown(grid, *place)
    need_own_beats(document, *place)
    between(grid, index_of(grid, *place) or 0, time)
    return Place(Pin(time, beat.bar, beat.beat))


def nudge(document: Document, grid: Grid, places: Sequence[tuple[int, int]], seconds: float) -> Nudge:
    """Move some lines and beats by a little.

    Raises
    ------
    PinError
        If one would pass a neighbour, or is a beat of a bar that is held or has no pulse.
    """
    if not places:
        raise InputError("Nothing is chosen to be moved: choose a bar line first.")
    beats = sorted((shown(grid, *place) for place in places), key=_time)
    for beat in beats:
        need_own_beats(document, beat.bar, beat.beat)
    edit = Nudge(tuple(pin_of(beat) for beat in beats), seconds)
    if beats[0].time + seconds < 0:
        raise PinError(f"{named(beats[0].bar, beats[0].beat)} cannot be placed before the take begins.")
    if preview(grid, edit) is None:
        raise PinError(f"There is no room to move by {1000 * seconds:+.0f} ms between the lines beside.")
    return edit


def remove(document: Document, grid: Grid, bar: int) -> LetGo | TakeOut:
    """Remove a bar line: a placed one becomes a suggestion again, a suggested one is taken out of the count.

    Raises
    ------
    InputError
        If it is the first or last line, which would only be suggested again.
    """
    shown(grid, bar)
    if (bar, 1) in document.placed:
        return let_go(document, grid, [(bar, 1)])
    before, after = index_of(grid, bar - 1), index_of(grid, bar + 1)
    if before is None:
        raise InputError(f"Bar {bar} is the first bar line: drag it to where that bar begins, or mark a pickup.")
    if after is None:
        raise InputError(f"Bar {bar} is the last bar line, the end of the bar before: drag it to where that ends.")
    need_pulse(document, bar - 1, bar)
    return TakeOut(bar, (pin_of(grid.beats[before]), pin_of(grid.beats[after], bar)))


def let_go(document: Document, grid: Grid, places: Sequence[tuple[int, int]]) -> LetGo:
    """Let placed lines among those chosen be suggestions again.

    Raises
    ------
    InputError
        If none of them is placed, or one is an end of a bar without a pulse.
    """
    placed = tuple(sorted(set(places) & document.placed))
    if not placed:
        raise InputError("Nothing that is chosen is placed: only placed lines can be let go.")
    for bar, beat in placed:
        free_bars = [b for b in (bar - 1, bar) if beat == 1 and b in document.free]
        if free_bars:
            raise InputError(f"Bar {free_bars[0]} has no pulse and keeps both its ends: give it a pulse first.")
    return LetGo(placed)


def accept(document: Document, grid: Grid, bar: int) -> Accept:
    """Place all suggested bar lines up to a bar, its own line included, where they are.

    Raises
    ------
    InputError
        If all of them are placed already.
    """
    shown(grid, bar)
    pins = tuple(pin_of(line) for line in grid.bar_lines if line.bar <= bar and not line.placed)
    if not pins:
        raise InputError(f"All bar lines up to {bar} are placed already.")
    return Accept(pins)


def alternative(document: Document, grid: Grid, bar: int, time: float) -> Place:
    """Place a bar line at one of its alternatives, or back where it was.

    Raises
    ------
    PinError
        If it would pass a neighbour.
    """
    return drag(document, grid, (bar, 1), time)


def nearest_onset(onsets: Onsets, time: float, within: float) -> float | None:
    """Time of the onset nearest to a time, None where there is none within so many seconds."""
    i = int(np.searchsorted(onsets.time, time))
    near = [float(t) for t in onsets.time[max(i - 1, 0) : i + 1] if abs(t - time) <= within]
    return min(near, key=lambda t: abs(t - time), default=None)


def _time(beat: Beat) -> float:
    return beat.time


__all__ = [
    "accept",
    "alternative",
    "change_metre",
    "count_from",
    "double",
    "drag",
    "free",
    "halve",
    "hold",
    "let_go",
    "move_section",
    "name_section",
    "nearest_onset",
    "nudge",
    "pickup",
    "place_at",
    "preview",
    "remove",
    "remove_section",
    "renumber",
    "shift",
    "unfree",
]
