"""From what is on screen to an edit: gestures on ranges of bars, their metre, count, holds and sections."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from statistics import median

from core.document import Document
from core.edits import (
    ChangeMetre,
    CountFrom,
    DoubleBars,
    HalveBars,
    MarkFree,
    MarkHold,
    MarkPickup,
    MoveSection,
    NameSection,
    RemoveSection,
    Renumber,
    ShiftBeats,
    UnmarkFree,
)
from core.errors import InputError, MetreError
from core.grid import Beat, Grid, Pin
from core.hold import with_hold
from core.line_edits import bars_named
from core.metre import TimeSignature
from core.numbering import course_of
from core.shown import index_of, need_pulse, pin_of, shown

AFTER = 6
"""Lines after a range with an end that are placed as they are shown. The suggestions go on at the median length of
the last eight bars, so fewer would not tell them that the old length is back."""

ONWARD = 6
"""Lines of a range without an end that are placed, so that the suggestions go on from them."""

NEIGHBOURS = 2
"""Bars to each side that say how fast the music goes around a passage without a pulse."""


def shift(document: Document, grid: Grid, first: int, last: int | None, beats: int) -> ShiftBeats:
    """Move the bar lines from `first` to `last`, or to the end, by whole beats as shown.

    In a range with an end every line is placed, and so is the end of its last bar, where it is. Without an end the
    first few are, and lines that were placed move along; how the rest goes on is suggested anew.

    Raises
    ------
    InputError
        If a bar of the range has no pulse, or the take is too short for it.
    """
    _whole(grid, first, last)
    need_pulse(document, first, last)
    if beats == 0:
        raise InputError("Shifting by no beat at all leaves everything as it is.")
    by_time = {beat.time: i for i, beat in enumerate(grid.beats)}

    def moved(beat: Beat, i: int) -> list[Pin]:
        to = i + beats
        return [Pin(grid.beats[to].time, beat.bar, beat.beat)] if 0 <= to < len(grid.beats) else []

    end = first + ONWARD - 1 if last is None else last
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
    _whole(grid, first, last)
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
    _whole(grid, first, last)
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


def free(document: Document, grid: Grid, first: int, last: int) -> MarkFree:
    """Make one bar without a pulse of a range.

    It gets as many beats, of the metre in force, as keep its tempo near that of the bars around it.

    Raises
    ------
    InputError
        If the bars are not in the take, have none beside them, or last too long for one bar.
    """
    _whole(grid, first, last)
    begin, end = shown(grid, first).time, shown(grid, last + 1).time
    signature = course_of(document).pulse.at(first)
    tempo = _tempo_around(document, grid, first, last)
    return MarkFree(first, last, _lasting((end - begin) * tempo / 60, signature, first, last), begin, end)


def unfree(document: Document, grid: Grid, bar: int) -> UnmarkFree:
    """Give a free bar its pulse back, with as many bars as fit its length at the tempo around it.

    Raises
    ------
    InputError
        If it has its pulse.
    """
    if bar not in document.free:
        raise InputError(f"Bar {bar} has its pulse already.")
    length = shown(grid, bar + 1).time - shown(grid, bar).time
    quarters = float(course_of(document).pulse.at(bar).quarters)
    return UnmarkFree(bar, max(1, round(length * _tempo_around(document, grid, bar, bar) / 60 / quarters)))


def hold(document: Document, grid: Grid, bar: int, held: bool) -> MarkHold:
    """Say that a bar is held, or not.

    Raises
    ------
    InputError
        If that is so already, or the bar is not longer than its neighbours or has no pulse.
    """
    shown(grid, bar)
    if held == (bar in document.holds):
        raise InputError(f"Bar {bar} is held already." if held else f"Bar {bar} is not held.")
    if held:
        need_pulse(document, bar, bar)
        with_hold(grid, bar)
    return MarkHold(bar, held)


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


def name_section(document: Document, grid: Grid, bar: int, name: str) -> NameSection:
    """Begin a section at a bar, or rename the one that begins there.

    Raises
    ------
    InputError
        If the bar is not in the take or the name is empty.
    """
    shown(grid, bar)
    if not name.strip():
        raise InputError("A section needs a name.")
    return NameSection(bar, name.strip())


def remove_section(document: Document, grid: Grid, bar: int) -> RemoveSection:
    """Remove the section that begins at a bar.

    Raises
    ------
    InputError
        If none begins there.
    """
    if all(section.bar != bar for section in document.sections):
        raise InputError(f"No section begins at bar {bar}.")
    return RemoveSection(bar)


def move_section(document: Document, grid: Grid, bar: int, to: int) -> MoveSection:
    """Let the section that begins at a bar begin at another.

    Raises
    ------
    InputError
        If none begins there, or one begins at the other bar.
    """
    shown(grid, to)
    names = {section.bar: section.name for section in document.sections}
    if bar not in names:
        raise InputError(f"No section begins at bar {bar}.")
    if to in names:
        raise InputError(f"Section {names[to]} begins at bar {to}: move or remove that one first.")
    return MoveSection(bar, to)


def _whole(grid: Grid, first: int, last: int | None) -> None:
    """Refuse a range that does not begin and end with bar lines of the take."""
    shown(grid, first)
    if last is not None and last < first:
        raise InputError(f"Bars {first} to {last} are no range: give the lower number first.")
    shown(grid, (first if last is None else last) + 1)


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


def _tempo_around(document: Document, grid: Grid, first: int, last: int) -> float:
    """Median tempo of the bars with a pulse beside a range, in quarters a minute."""
    tempi = [
        60 * float(grid.metre.at(line.bar).quarters) / (following.time - line.time)
        for line, following in pairwise(grid.bar_lines)
        if (first - NEIGHBOURS <= line.bar < first or last < line.bar <= last + NEIGHBOURS)
        and line.bar not in document.free
    ]
    if not tempi:
        raise InputError(f"{bars_named(first, last)} without a pulse: no bar beside says how fast the music goes.")
    return median(tempi)


def _lasting(quarters: float, signature: TimeSignature, first: int, last: int) -> TimeSignature:
    """A bar of about so many quarters in the beats of a metre, in longer ones where they would be too many."""
    group = signature.groups[0] if len(set(signature.groups)) == 1 else 1
    denominator = signature.denominator
    while denominator >= 1:
        beats = max(1, round(quarters * denominator / (4 * group)))
        if beats * group <= 255:
            return TimeSignature(beats * group, denominator, (group,) * beats)
        denominator, group = denominator // 2, 1
    raise InputError(f"{bars_named(first, last)} last too long for one bar: mark a shorter range.")
