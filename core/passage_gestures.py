"""From what is on screen to an edit: gestures on free passages, holds and sections."""

from __future__ import annotations

from itertools import pairwise
from statistics import median

from core.document import Document
from core.edits import MarkFree, MarkHold, MoveSection, NameSection, RemoveSection, UnmarkFree
from core.errors import InputError
from core.grid import Grid
from core.hold import with_hold
from core.line_edits import bars_named
from core.metre import TimeSignature
from core.numbering import course_of
from core.shown import need_pulse, need_range, shown

NEIGHBOURS = 2
"""Bars to each side that say how fast the music goes around a passage without a pulse."""


def free(document: Document, grid: Grid, first: int, last: int) -> MarkFree:
    """Make one bar without a pulse of a range.

    It gets as many beats, of the metre in force, as keep its tempo near that of the bars around it.

    Raises
    ------
    InputError
        If the bars are not in the take, have none beside them, or last too long for one bar.
    """
    need_range(grid, first, last)
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
