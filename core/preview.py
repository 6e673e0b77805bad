"""The grid at once after an edit of single lines, until new suggestions come."""

from __future__ import annotations

from dataclasses import replace

from core.edits import Accept, AcceptTaps, Edit, LetGo, Nudge, Place
from core.errors import PinError
from core.grid import DOUBTFUL, Beat, Grid
from core.shown import index_of


def preview(grid: Grid, edit: Edit) -> Grid | None:
    """Work an edit into a grid without new suggestions.

    A line that moves takes the beats between it and the next bar lines and placed beats with it, in proportion.

    Returns
    -------
    Grid or None
        None where only new suggestions can tell: for an edit that changes the count, for a line that is not in the
        grid, and where lines would pass one another.
    """
    match edit:
        case Place(pin):
            moves = {(pin.bar or 0, pin.beat): pin.time}
        case Nudge(pins, seconds):
            moves = {(pin.bar or 0, pin.beat): pin.time + seconds for pin in pins}
        case Accept(pins) | AcceptTaps(pins):
            moves = {(pin.bar or 0, pin.beat): pin.time for pin in pins}
        case LetGo(places):
            return _let_go(grid, places)
        case _:
            return None
    return _moved(grid, moves)


def _let_go(grid: Grid, places: tuple[tuple[int, int], ...]) -> Grid | None:
    beats = list(grid.beats)
    for place in places:
        i = index_of(grid, *place)
        if i is None:
            return None
        beats[i] = replace(beats[i], placed=False, confidence=DOUBTFUL)
    return Grid(grid.metre, tuple(beats))


def _moved(grid: Grid, moves: dict[tuple[int, int], float]) -> Grid | None:
    old = grid.beats
    beats = list(old)
    moved = []
    for place, time in moves.items():
        i = index_of(grid, *place)
        if i is None:
            return None
        beats[i] = Beat(time, *place, placed=True)
        if time != old[i].time:
            moved.append(i)
    for i in moved:
        for step in (-1, 1):
            _take_along(beats, old, i, step)
    try:
        return Grid(grid.metre, tuple(beats))
    except PinError:
        return None


def _take_along(beats: list[Beat], old: tuple[Beat, ...], i: int, step: int) -> None:
    """Lay the suggested beats beside a moved one in proportion, up to the next that stays or moves by itself."""
    end = i + step
    while 0 <= end < len(beats) and not (beats[end].beat == 1 or beats[end].placed):
        end += step
    if not 0 <= end < len(beats):
        return
    scale = (beats[end].time - beats[i].time) / (old[end].time - old[i].time)
    for j in range(i + step, end, step):
        beats[j] = replace(beats[j], time=beats[i].time + scale * (old[j].time - old[i].time))
