"""Single notes of a MIDI take put right, as the command line says it."""

from __future__ import annotations

import re
from argparse import Namespace
from dataclasses import dataclass

import numpy as np

from app import arguments
from app.arranging import ends, moment, stretch
from app.notes.words import pitch_name
from core.document import Document
from core.edits import Edit, MoveNotes, RemoveNotes, SetVelocities
from core.errors import InputError
from core.grid import Grid
from core.repairs import LEVEL, levelled, repaired
from core.take import Ints, MidiTake, Notes, Take
from core.units import clock

NEAR = 0.1
"""Seconds from the moment that is said within which a note is the one that is meant."""

EARLY = 0.05
"""Seconds before a bar line at which a note already belongs to its bar: chords are spread."""

_PITCH = re.compile(r"([A-Ga-g])([#b]?)(-?\d+)", re.ASCII)
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_LIKE = "write it like C4@1:23.4, F#3@83.4 or 60@1:23.4 (C4 and 60 are middle C)"


@dataclass(frozen=True, slots=True)
class Named:
    """A note as it is named: its MIDI note number, and about when it begins, in seconds of recording time."""

    pitch: int
    time: float


class Repairing:
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
        self._removed = [named(text) for text in getattr(given, "remove_note", ())]
        self._moved = [_valued(text, "move", "-30") for text in getattr(given, "move_note", ())]
        self._struck = [_valued(text, "velocity", "64") for text in getattr(given, "velocity", ())]
        self._levels = [_level(text) for text in getattr(given, "level_velocities", ())]

    @property
    def said(self) -> bool:
        """Whether anything was."""
        return bool(self._removed or self._moved or self._struck or self._levels)

    def put_right(self, document: Document, take: Take, grid: Grid) -> Document:
        """Document with what was said of its notes; they are looked for as the document has them.

        Raises
        ------
        InputError
            If the take has no notes, or not such a note, or one cannot be put right like that.
        """
        if not self.said:
            return document
        if not isinstance(take, MidiTake):
            raise InputError(f"{take.path.name} is audio and has no notes to put right.")
        tidy, places = repaired(take, document.repairs)
        for edit in self._edits(tidy.notes, places, grid):
            document = edit.apply(document)
        return document

    def _edits(self, notes: Notes, places: Ints, grid: Grid) -> list[Edit]:
        def place(one: Named) -> int:
            return int(places[find_note(notes, one)])

        removed = tuple(sorted({place(one) for one in self._removed}))
        edits: list[Edit] = [RemoveNotes(removed)] if removed else []
        for between, strength in self._levels:
            inside = np.flatnonzero(_begins_in(notes, between, grid) & ~np.isin(places, removed))
            if not len(inside):
                raise InputError(f"No note begins in {between[0]}-{between[1]}: choose a passage with notes.")
            known = {int(places[i]): int(notes.velocity[i]) for i in inside}
            edits.append(SetVelocities(tuple(levelled(known, strength).items())))
        edits += [MoveNotes((place(one),), by / 1000) for one, by in self._moved]
        return [*edits, *(SetVelocities(((place(one), _whole(velocity)),)) for one, velocity in self._struck)]


def named(text: str) -> Named:
    """Read a note: its pitch, ``@``, and when it begins, such as ``C4@1:23.4``.

    Raises
    ------
    InputError
        If it is none.
    """
    pitch, at, time = text.strip().partition("@")
    number = _pitch(pitch.strip())
    if not at or number is None:
        raise InputError(f'"{text}" is no note: {_LIKE}.')
    return Named(number, moment(time))


def find_note(notes: Notes, wanted: Named) -> int:
    """Find the note that is meant: of its pitch, the one that begins nearest to the moment.

    Raises
    ------
    InputError
        If there is none near.
    """
    away = np.abs(notes.start - wanted.time)
    same = np.flatnonzero(notes.pitch == wanted.pitch)
    if len(same) and away[same].min() <= NEAR:
        return int(same[np.argmin(away[same])])
    name = pitch_name(wanted.pitch)
    others = sorted(set(notes.pitch[away <= NEAR].tolist()))
    if others:
        there = f"what begins there is {_listed([pitch_name(pitch) for pitch in others])}"
    elif len(same):
        there = f"the nearest begins at {clock(float(notes.start[same[np.argmin(away[same])]]))}"
    else:
        there = f"the take has no {name}"
    raise InputError(f"No {name} begins at {clock(wanted.time)}: {there}.")


def _pitch(text: str) -> int | None:
    """MIDI note number of a name or number; C4 is 60."""
    if text.isascii() and text.isdigit():
        number = int(text)
    elif match := _PITCH.fullmatch(text):
        step, sign, octave = match.groups()
        number = 12 * (int(octave) + 1) + _STEPS[step.upper()] + {"#": 1, "b": -1, "": 0}[sign]
    else:
        return None
    return number if 0 <= number <= 127 else None


def _valued(text: str, what: str, such_as: str) -> tuple[Named, float]:
    note, equals, value = text.partition("=")
    if not equals:
        raise InputError(f'"{text}" says no {what}: write it like C4@1:23.4={such_as}.')
    return named(note), arguments.number(value, what, such_as)


def _whole(velocity: float) -> int:
    if velocity != round(velocity):
        raise InputError(f"A velocity of {velocity:g} cannot be: give 1 to 127.")
    return round(velocity)


def _level(text: str) -> tuple[tuple[str, str], float]:
    between, equals, percent = text.partition("=")
    strength = arguments.number(percent, "share of the way", "50") / 100 if equals else LEVEL
    if not 0 < strength <= 1:
        raise InputError(f'"{percent}" is no share of the way: give percent, above 0 and up to 100.')
    return ends(between), strength


def _begins_in(notes: Notes, between: tuple[str, str], grid: Grid) -> np.ndarray:
    start, end = stretch(between, grid)
    early = EARLY if between[0].startswith("b") else 0.0
    return np.asarray((notes.start >= start - early) & (notes.start < end - early))


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
