"""What is heard of a take, as the command line says it: pauses to tighten, passages to keep or to leave out."""

from __future__ import annotations

import math
from argparse import Namespace
from dataclasses import replace

from core.arrangement import Arrangement, minus
from core.cutting import bars_stretch, cut, early, tighten
from core.document import Document
from core.errors import InputError
from core.grid import Grid
from core.hesitations import Hesitation, find_hesitations
from core.onsets import Onsets
from core.passages import Passage
from core.quiet_place import Loudness, NoteLevel, SoundLevel
from core.sampled import SampledSound
from core.take import MidiTake, Take
from core.units import clock

Ends = tuple[str, str]


class Arranging:
    """What was said, read and checked before the take is looked at.

    Parameters
    ----------
    given : Namespace
        With the options of `app.arranging_options`, if the command has them.

    Raises
    ------
    InputError
        If one of them cannot be read.
    """

    def __init__(self, given: Namespace) -> None:
        tightened = getattr(given, "tighten", None)
        self._all = tightened == "all"
        self._moments = [moment(text) for text in tightened.split(",")] if tightened and not self._all else []
        length = getattr(given, "pause", None)
        if length is not None and not tightened:
            raise InputError("--pause says how long pauses get; it needs --tighten.")
        self._length = None if length is None else moment(length)
        self._left_out = [ends(text) for text in getattr(given, "leave_out", ())]
        self._kept = [ends(text) for text in getattr(given, "keep", ())]

    @property
    def said(self) -> bool:
        """Whether anything was."""
        return bool(self._all or self._moments or self._left_out or self._kept)

    def arrange(self, document: Document, take: Take, onsets: Onsets, grid: Grid) -> Document:
        """Document with what was said of its arrangement; what it had of one before stays where nothing was.

        Raises
        ------
        InputError
            If there is no pause at a moment, no such bars, or nothing would be left.
        """
        if not self.said:
            return document
        level = level_of(take)
        if self._kept or self._left_out:
            order = self._order(document.arrangement, level, grid, take.duration)
            document = replace(document, arrangement=Arrangement(order, document.arrangement.taken))
        pauses = find_hesitations(onsets, grid)
        chosen = pauses if self._all else [_pause_at(pauses, time) for time in self._moments]
        return tighten(chosen, level, length=self._length).apply(document) if chosen else document

    def _order(self, before: Arrangement, level: Loudness, grid: Grid, duration: float) -> tuple[Passage, ...]:
        stretches = [stretch(between, grid) for between in (*self._kept, *self._left_out)]
        kept = len(self._kept)
        passages = cut(stretches, level, duration, before=None if kept else early(before, grid))
        left = minus(passages[:kept] or before.blocks(duration), passages[kept:])
        if not left:
            raise InputError("Nothing of the take would be left to hear: leave less out.")
        return left


def level_of(take: Take) -> Loudness:
    """What tells quiet places of a take; sound that cannot be sought is read through for it."""
    return NoteLevel(take) if isinstance(take, MidiTake) else SoundLevel(SampledSound.of(take))


def moment(text: str) -> float:
    """Read seconds, or minutes and seconds: ``83.5`` or ``1:23.5``."""
    minutes, _, seconds = text.strip().rpartition(":")
    try:
        time = 60 * int(minutes or 0) + float(seconds)
    except ValueError:
        time = math.nan
    if not 0 <= time < 1e6:
        raise InputError(f'"{text}" is no moment: write it in seconds, or like 1:23.5.')
    return time


def ends(text: str) -> Ends:
    """Read a passage, in time or in bars: ``1:05-1:20`` or ``b12-b15``."""
    first, dash, last = text.strip().partition("-")
    both = (first, last)
    bars = [end.startswith("b") and end[1:].isdecimal() for end in both]
    if not dash or any(bars) != all(bars):
        raise InputError(f'"{text}" is no passage: write it like 1:05-1:20, or in bars like b12-b15.')
    if not all(bars):
        for end in both:
            moment(end)
    return both


def stretch(between: Ends, grid: Grid) -> tuple[float, float]:
    """Seconds of recording time from the beginning of a passage to its end."""
    if between[0].startswith("b"):
        return bars_stretch(grid, int(between[0][1:]), int(between[1][1:]))
    return moment(between[0]), moment(between[1])


def _pause_at(pauses: tuple[Hesitation, ...], time: float) -> Hesitation:
    found = next((pause for pause in pauses if pause.start <= time <= pause.end), None)
    if found is None:
        raise InputError(f"No pause was found at {clock(time)}: `barwright pauses` lists those there are.")
    return found
