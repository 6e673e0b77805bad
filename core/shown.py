"""Looking things up in the grid on screen, with a sentence for what is not there."""

from __future__ import annotations

from bisect import bisect_left

from core.document import Document
from core.errors import InputError, PinError
from core.grid import Beat, Grid, Pin
from core.line_edits import named
from core.units import clock


def index_of(grid: Grid, bar: int, beat: int = 1) -> int | None:
    """Index of a beat in the grid, None where it has no such beat."""
    i = bisect_left(grid.beats, (bar, beat), key=lambda b: (b.bar, b.beat))
    found = i < len(grid.beats) and (grid.beats[i].bar, grid.beats[i].beat) == (bar, beat)
    return i if found else None


def shown(grid: Grid, bar: int, beat: int = 1) -> Beat:
    """A bar line or beat of the grid.

    Raises
    ------
    InputError
        If the grid has no such beat.
    """
    i = index_of(grid, bar, beat)
    if i is None:
        lines = grid.bar_lines
        raise InputError(f"{named(bar, beat)} is not in the take, whose bar lines are {_range(lines)}.")
    return grid.beats[i]


def pin_of(beat: Beat, bar: int | None = None) -> Pin:
    """The pin that places a beat where it is, perhaps with another bar number."""
    return Pin(beat.time, beat.bar if bar is None else bar, beat.beat)


def need_pulse(document: Document, first: int, last: int | None = None) -> None:
    """Refuse to count inside free bars.

    Raises
    ------
    InputError
        If one of the bars, or any from the first on where `last` is None, has no pulse.
    """
    for bar in document.free:
        if bar >= first and (last is None or bar <= last):
            raise InputError(f"Bar {bar} has no pulse: give it a pulse first, or choose bars before or after it.")


def need_range(grid: Grid, first: int, last: int | None) -> None:
    """Refuse a range that does not begin and end with bar lines of the take.

    Raises
    ------
    InputError
        If the first bar or the end of the last one, or of the first where `last` is None, is not in the grid.
    """
    shown(grid, first)
    if last is not None and last < first:
        raise InputError(f"Bars {first} to {last} are no range: give the lower number first.")
    shown(grid, (first if last is None else last) + 1)


def need_own_beats(document: Document, bar: int, beat: int) -> None:
    """Refuse a beat of a bar whose shown beats are not those of its metre.

    Raises
    ------
    PinError
        If the bar is held or has no pulse.
    """
    if beat == 1:
        return
    if bar in document.free:
        raise PinError(f"Bar {bar} has no pulse, so its beats lie evenly: give it a pulse first to place one.")
    if bar in document.holds:
        raise PinError(f"Bar {bar} is held, so its beats follow from its length: end the hold first to place one.")


def between(grid: Grid, i: int, time: float) -> None:
    """Make sure that a beat of the grid stays between its neighbours when it moves to a time.

    Neighbours are the next bar lines and placed beats to both sides; suggested beats give way.

    Raises
    ------
    PinError
        If it would not.
    """
    beat = grid.beats[i]
    before, after = anchor(grid, i, -1), anchor(grid, i, 1)
    if time < 0:
        raise PinError(f"{named(beat.bar, beat.beat)} cannot be placed before the take begins.")
    for neighbour, wrong in ((before, before and time <= before.time), (after, after and time >= after.time)):
        if neighbour and wrong:
            side = "after" if neighbour is before else "before"
            raise PinError(
                f"{named(beat.bar, beat.beat)} must stay {side} {named(neighbour.bar, neighbour.beat).lower()} "
                f"at {clock(neighbour.time)}."
            )


def anchor(grid: Grid, i: int, step: int) -> Beat | None:
    """The next bar line or placed beat before (-1) or after (1) a beat of the grid."""
    i += step
    while 0 <= i < len(grid.beats):
        if grid.beats[i].beat == 1 or grid.beats[i].placed:
            return grid.beats[i]
        i += step
    return None


def _range(lines: tuple[Beat, ...]) -> str:
    return f"{lines[0].bar} to {lines[-1].bar}" if lines else "not known yet"
