"""From what is on screen to an edit: gestures on ranges of bars, their metre and count."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from core.document import Document
from core.edits import ChangeMetre, CountFrom, DoubleBars, HalveBars, MarkPickup, Renumber, ShiftBeats
from core.errors import InputError, MetreError
from core.grid import Beat, Grid, Pin
from core.line_edits import bars_named
from core.metre import TimeSignature
from core.numbering import course_of
from core.shown import index_of, need_pulse, need_range, pin_of, shown

AFTER = 6
"""Lines after a range with an end that are placed as they are shown. The suggestions go on at the median length of
the last eight bars, so fewer would not tell them that the old length is back."""

ONWARD = 6
"""Lines of a range without an end that are placed when its bars get another length; fewer are not followed."""

PHASE = 2
"""Lines of a range without an end that are placed when it is shifted. On played music the suggestions go on from
two as well as from six, and none is placed where nobody has listened yet."""


def shift(document: Document, grid: Grid, first: int, last: int | None, beats: int) -> ShiftBeats:
    """Move the bar lines from `first` to `last`, or to the end, by whole beats as shown.

    In a range with an end every line is placed, and so is the end of its last bar, where it is. Without an end the
    first two are, and lines that were placed move along; how the rest goes on is suggested anew.

    Raises
    ------
    InputError
        If a bar of the range has no pulse, or the take is too short for it.
    """
    need_range(grid, first, last)
    need_pulse(document, first, last)
    if beats == 0:
        raise InputError("Shifting by no beat at all leaves everything as it is.")
    by_time = {beat.time: i for i, beat in enumerate(grid.beats)}

    def moved(beat: Beat, i: int) -> list[Pin]:
        to = i + beats
        return [Pin(grid.beats[to].time, beat.bar, beat.beat)] if 0 <= to < len(grid.beats) else []

    end = first + PHASE - 1 if last is None else last
    pins: dict[tuple[int | None, int], Pin] = {}
    for i, beat in enumerate(grid.beats):
        if beat.beat == 1 and first <= beat.bar <= end:
            pins |= {(pin.bar, pin.beat): pin for pin in moved(beat, i)}
    for pin in document.pins:
        if pin.bar is not None and pin.bar >= first and (last is None or pin.bar <= last) and pin.time in by_time:
            i = by_time[pin.time]
            pins |= {(new.bar, new.beat): new for new in moved(Beat(pin.time, pin.bar, pin.beat), i)}
    if (first, 1) not in pins:
        raise InputError(f"Bar {first} cannot be shifted so far: the take does not reach there.")
    if last is not None:
        pins |= {(pin.bar, pin.beat): pin for pin in _lines(grid, range(last + 1, last + 2))}
    return ShiftBeats(first, last, beats, tuple(sorted(pins.values())))


def halve(document: Document, grid: Grid, first: int, last: int | None) -> HalveBars:
    """Make bars half as long, from `first` to `last` or to the end.

    In a range with an end every line is placed: the new ones at the shown beat in the middle of each bar, where
    its metre has one, else at the beat nearest to the middle of its time. Without an end the first few lines are
    placed, and the suggestions go on from them.

    Raises
    ------
    InputError
        If a bar of the range has no pulse, or is not in the take.
    """
    need_range(grid, first, last)
    need_pulse(document, first, last)
    end = min(first + ONWARD // 2 - 1, grid.bar_lines[-1].bar - 1) if last is None else last
    pins = []
    for bar in range(first, end + 1):
        number = first + 2 * (bar - first)
        pins += [Pin(shown(grid, bar).time, number), Pin(_middle(document, grid, bar), number + 1)]
    if last is not None:
        by = last - first + 1
        pins += [replace(pin, bar=(pin.bar or 0) + by) for pin in _lines(grid, _following(last))]
    return HalveBars(first, last, tuple(pins))


def double(document: Document, grid: Grid, first: int, last: int | None) -> DoubleBars:
    """Make bars twice as long, from `first` to `last` or to the end: each two become one.

    In a range with an end every line that stays is placed; without one the first few are.

    Raises
    ------
    InputError
        If a bar of the range has no pulse or is not in the take, or if one would be left over.
    """
    need_range(grid, first, last)
    need_pulse(document, first, last)
    if last is not None and (last - first) % 2 == 0:
        raise InputError(f"{bars_named(first, last)} cannot be joined in pairs: choose one bar more or less.")
    end = first + 2 * ONWARD - 3 if last is None else last
    stays = range(first, end + 2, 2)
    pins = [replace(pin, bar=first + ((pin.bar or 0) - first) // 2) for pin in _lines(grid, stays)]
    if last is not None:
        by = (last - first + 1) // 2
        pins += [replace(pin, bar=(pin.bar or 0) - by) for pin in _lines(grid, _following(last)[1:])]
    return DoubleBars(first, last, tuple(pins))


def change_metre(document: Document, grid: Grid, bar: int, signature: TimeSignature) -> ChangeMetre:
    """Give another metre from a bar on.

    Raises
    ------
    MetreError
        If the bar has no pulse or is in that metre already.
    """
    if bar > grid.bar_lines[0].bar:
        shown(grid, bar)
    if bar in document.free:
        raise MetreError(f"Bar {bar} has no pulse: change the metre from the bar after it.")
    if course_of(document).pulse.at(bar) == signature:
        raise MetreError(f"Bar {bar} is in {signature.full} already.")
    return ChangeMetre(bar, signature)


def pickup(document: Document, grid: Grid, place: tuple[int, int] | None) -> MarkPickup:
    """Say that the music begins at a beat of the bar before bar 1, or, with None or bar 1, that it has no pickup.

    Raises
    ------
    InputError
        If the place is in another bar, or that bar is held or has no pulse.
    """
    if place is None or place == (1, 1):
        return MarkPickup(Fraction(0))
    bar, beat = place
    if bar != 0 or beat == 1:
        raise InputError("A pickup begins inside the bar before bar 1: say which bar is bar 1 first.")
    signature = document.metre.at(0)
    if 0 in document.holds or 0 in document.free or beat > signature.beats:
        raise InputError("Bar 0 is held or has no pulse: end that first to mark a pickup in it.")
    return MarkPickup(signature.quarters - signature.beat_quarters[beat - 1])


def renumber(document: Document, grid: Grid, bar: int, to: int) -> Renumber:
    """Give a bar line another number; it is placed, and all after it count on from it.

    Raises
    ------
    InputError
        If it has that number.
    """
    line = shown(grid, bar)
    if to == bar:
        raise InputError(f"Bar {bar} has that number already.")
    return Renumber(pin_of(line, to), to - bar)


def count_from(document: Document, grid: Grid, bar: int, to: int) -> CountFrom:
    """Count all bars so that one gets a number ("this is bar 1").

    Raises
    ------
    InputError
        If it has that number.
    """
    shown(grid, bar)
    if to == bar:
        raise InputError(f"Bar {bar} has that number already.")
    return CountFrom(to - bar)


def _lines(grid: Grid, bars: Iterable[int]) -> list[Pin]:
    """Pins for those of the bar lines that are in the grid, as shown."""
    found = (index_of(grid, bar) for bar in bars)
    return [pin_of(grid.beats[i]) for i in found if i is not None]


def _following(last: int) -> range:
    return range(last + 1, last + 1 + AFTER)


def _middle(document: Document, grid: Grid, bar: int) -> float:
    """Where a bar is divided in two."""
    i, j = index_of(grid, bar) or 0, index_of(grid, bar + 1) or 0
    inside, signature = grid.beats[i + 1 : j], grid.metre.at(bar)
    half = signature.quarters / 2
    if half in signature.beat_quarters and bar not in document.holds:
        return inside[signature.beat_quarters.index(half) - 1].time
    middle = (grid.beats[i].time + grid.beats[j].time) / 2
    return min((beat.time for beat in inside), key=lambda time: abs(time - middle), default=middle)
