"""The bars of a take as it is heard, from the bars of its recording and the arrangement.

Bars are found, placed and counted along the whole recording, whatever is heard of it; here they are counted anew
along what is heard, each on its music.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import inf, isfinite

import numpy as np

from core.arrangement import AS_PLAYED, Arrangement
from core.checks import Floats
from core.document import Document, Section, TapPass
from core.errors import InputError
from core.grid import Beat, Grid, Pin
from core.metre import TimeSignature
from core.numbering import Course
from core.passages import Passages

Place = tuple[int, int]
"""Bar and beat."""

SLACK = 1e-6
"""Seconds by which a passage may miss the end of its recording and still go to it."""

FEWEST = 2
"""Bar lines that a take needs at least."""

MOST = 255
"""A time signature cannot have more in it."""


@dataclass(frozen=True, slots=True, eq=False)
class Edited:
    """Bars of a take as it is heard.

    Parameters
    ----------
    grid : Grid
        In take time, counted along what is heard.
    origin : dict of Place to Place
        From each beat of it to that beat in the grid of the recording.
    """

    grid: Grid
    origin: dict[Place, Place]


def edited_grid(grid: Grid, arrangement: Arrangement, duration: float) -> Edited:
    """Count the bars of a recording along what is heard of it.

    A beat keeps its distance to the music around it. Those inside what was taken out of a pause stay, evenly
    between the ones beside them; those of passages left out go. Where a passage begins inside a bar, it goes on
    with the bar that the one before it ends in, which has as many beats as are heard then.

    Parameters
    ----------
    grid : Grid
        Bars of the recording.
    arrangement : Arrangement
        What is heard.
    duration : float
        Seconds of the recording.

    Raises
    ------
    InputError
        If fewer than two bar lines are heard, or a bar would get too many beats.
    """
    if arrangement.plain:
        places = {(beat.bar, beat.beat): (beat.bar, beat.beat) for beat in grid.beats}
        return Edited(grid, places)
    heard = _heard(grid, arrangement, duration)
    first_line = next((i for i, beat in enumerate(heard) if beat.beat == 1), len(heard))
    # What comes before the first bar line is a pickup only where the recording has one.
    whole = heard[:1] and (heard[0].bar, heard[0].beat) == (grid.beats[0].bar, grid.beats[0].beat)
    pickup = heard[:first_line] if whole and _counts_on(heard[: first_line + 1]) else []
    bars: list[list[Beat]] = []
    for beat in heard[first_line:]:
        if beat.beat == 1:
            bars.append([])
        bars[-1].append(beat)
    if len(bars) < FEWEST:
        raise InputError("Fewer than two bar lines would be left to hear: keep more of the recording.")
    number = grid.bar_lines[0].bar
    beats = list(pickup)
    origin = {(new.bar, new.beat): (old.bar, old.beat) for new, old in zip(beats, pickup, strict=True)}
    signatures: dict[int, TimeSignature] = {}
    for i, bar in enumerate(bars):
        for at, beat in enumerate(bar, 1):
            beats.append(replace(beat, bar=number + i, beat=at))
            origin[number + i, at] = (beat.bar, beat.beat)
        # The last is the line that closes the bar before, and has the signature of the music it began.
        signatures[number + i] = grid.metre.at(bar[0].bar) if i == len(bars) - 1 else _signature(grid, bar)
    opening = grid.metre.at(pickup[0].bar) if pickup else signatures[number]
    course = Course(opening, signatures, {}, grid.metre.pickup if pickup else Fraction(0))
    return Edited(Grid(course.pulse, tuple(beats)), origin)


def edited_document(document: Document, edited: Edited, arrangement: Arrangement, duration: float) -> Document:
    """Tell all that was said of a recording in the bars and the time of what is heard of it.

    Parameters
    ----------
    document : Document
        What was said.
    edited : Edited
        The bars that follow.
    arrangement : Arrangement
        What is heard.
    duration : float
        Seconds of the recording.
    """
    if arrangement.plain:
        return document
    times = {(beat.bar, beat.beat): beat for beat in edited.grid.beats}
    passages = arrangement.heard(duration)
    pins = [Pin(beat.time, bar, at) for (bar, at), beat in times.items() if beat.placed]
    unnumbered = passages.to_take([pin.time for pin in document.pins if pin.bar is None])
    pins += [Pin(float(time)) for time in unnumbered if isfinite(time)]
    lines = {new: old for (new, beat), (old, at) in edited.origin.items() if beat == 1 and at == 1}
    return replace(
        document,
        metre=edited.grid.metre,
        pins=tuple(sorted(pins, key=lambda pin: pin.time)),
        holds=tuple(new for new, old in sorted(lines.items()) if old in document.holds),
        free=tuple(new for new, old in sorted(lines.items()) if old in document.free),
        sections=_sections(document.sections, edited),
        taps=tuple(filter(None, (_tapped(one, passages) for one in document.taps))),
        arrangement=AS_PLAYED,
    )


def _heard(grid: Grid, arrangement: Arrangement, duration: float) -> list[Beat]:
    """Beats with their numbers in the recording, in the order and at the times they are heard, to a bar line."""
    blocks, passages = arrangement.blocks(duration), arrangement.heard(duration)
    heard: list[Beat] = []
    for i, block in enumerate(blocks):
        start = -inf if i == 0 and block.start <= 0 else block.start
        last = i == len(blocks) - 1 and block.end >= duration - SLACK
        end = inf if last else block.end
        inside = [beat for beat in grid.beats if start <= beat.time < end]
        for beat, moment in zip(inside, _moments(grid, inside, passages, last=last), strict=True):
            if isfinite(moment) and (not heard or moment > heard[-1].time):
                heard.append(_at(beat, moment, passages))
    if heard and heard[-1].beat != 1:
        # The bar that the take ends in is closed by its own line, which may lie just after the end.
        heard += _closing(grid, heard[-1])
    return heard


def _counts_on(beats: Sequence[Beat]) -> bool:
    """Whether these are the beats before a bar line, none of them left out."""
    return [beat.beat for beat in beats[:-1]] == list(range(beats[0].beat, beats[0].beat + len(beats) - 1))


def _moments(grid: Grid, inside: Sequence[Beat], passages: Passages, *, last: bool) -> Floats:
    """Take time of the beats of a passage: NaN where they are taken out at one of its ends."""
    times = np.array([beat.time for beat in inside], dtype=np.float64)
    moments = passages.to_take(times)
    if passages.parts[0].start <= 0:
        moments = np.where(times < 0, times, moments)
    if last:
        # A bar line that closes the last bar may lie after the recording.
        end = passages.parts[-1].end
        moments = np.where(times > end, passages.duration + times - end, moments)
    quarters = np.array([float(grid.quarter_of(beat)) for beat in inside])
    known = np.isfinite(moments)
    if not known.any():
        return moments
    between = (quarters > quarters[known][0]) & (quarters < quarters[known][-1])
    return np.where(~known & between, np.interp(quarters, quarters[known], moments[known]), moments)


def _closing(grid: Grid, last: Beat) -> list[Beat]:
    """Beats after the last one that is heard, to the next bar line, as far apart as they were."""
    at = next(i for i, beat in enumerate(grid.beats) if (beat.bar, beat.beat) == (last.bar, last.beat))
    shift = last.time - grid.beats[at].time
    closing: list[Beat] = []
    for beat in grid.beats[at + 1 :]:
        # Its music is not heard here, so it is nobody's placed line.
        closing.append(replace(beat, time=beat.time + shift, placed=False, alternatives=()))
        if beat.beat == 1:
            break
    return closing


def _at(beat: Beat, time: float, passages: Passages) -> Beat:
    """Beat at another time, its alternatives as far as they are heard."""
    others = passages.to_take(beat.alternatives) if beat.alternatives else ()
    return replace(beat, time=float(time), alternatives=tuple(float(t) for t in others if isfinite(t)))


def _signature(grid: Grid, bar: Sequence[Beat]) -> TimeSignature:
    """Time signature of a bar that is heard: its own where all of its beats are heard and no others."""
    own = grid.metre.at(bar[0].bar)
    lengths = [_length(grid, beat) for beat in bar]
    denominator = max(own.denominator, *(length.denominator for length in lengths))
    groups = tuple(int(length * denominator) for length in lengths)
    if sum(groups) > MOST:
        raise InputError(f"A bar of {len(bar)} beats would be left at bar {bar[0].bar}: cut at another place.")
    if denominator == own.denominator and groups == own.groups:
        return own
    usual = TimeSignature(sum(groups), denominator)
    return usual if usual.groups == groups else TimeSignature(sum(groups), denominator, groups)


def _length(grid: Grid, beat: Beat) -> Fraction:
    """Length of a beat as a share of a whole note."""
    signature = grid.metre.at(beat.bar)
    return Fraction(signature.groups[beat.beat - 1], signature.denominator)


def _sections(sections: Sequence[Section], edited: Edited) -> tuple[Section, ...]:
    """Sections of what is heard: one begins wherever the music of another one begins."""
    starts = [section.bar for section in sections]
    found: list[Section] = []
    before: int | None = None
    for beat in edited.grid.bar_lines[:-1]:
        old = edited.origin[beat.bar, 1][0]
        at = bisect_right(starts, old) - 1
        if at != before and at >= 0:
            found.append(replace(sections[at], bar=beat.bar))
        before = at
    return tuple(found)


def _tapped(one: TapPass, passages: Passages) -> TapPass | None:
    """Pass of taps in take time, as far as they are heard in the order in which they were tapped."""
    times = passages.to_take(one.times)
    ascending = [float(t) for t in sorted(times[np.isfinite(times)])]
    placed = passages.to_take(one.placed) if one.placed else np.zeros(0)
    if not ascending:
        return None
    return replace(one, times=tuple(ascending), placed=tuple(float(t) for t in placed if isfinite(t)))
