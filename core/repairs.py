"""A performer's tidy-up of a MIDI take: single notes left out, moved, or struck harder or softer.

Notes are named by their place in the recording, which never changes. Bars follow from the recording as it was
played, so no tidying moves one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.errors import InputError
from core.take import Ints, MidiTake, Notes

SHORTEST = 0.001
"""Seconds a note keeps at least."""

FARTHEST = 10.0
"""Seconds a note can be moved from where it was played: further is composing."""

LEVEL = 0.5
"""Share of the way to their median that velocities go in one step of levelling out."""


@dataclass(frozen=True, slots=True, order=True)
class Repair:
    """What becomes of one note.

    Parameters
    ----------
    note : int
        Its place among the notes of the recording, from 0.
    removed : bool
        Whether it is left out.
    shift : float
        Seconds it is moved later, its end with it.
    velocity : int or None
        Velocity it gets, 1 to 127; None: as played.
    """

    note: int
    removed: bool = False
    shift: float = 0.0
    velocity: int | None = None

    @property
    def plain(self) -> bool:
        """Whether the note is as it was played."""
        return self == Repair(self.note)


def repaired(take: MidiTake, repairs: Sequence[Repair]) -> tuple[MidiTake, Ints]:
    """Tidy a take up.

    Parameters
    ----------
    take : MidiTake
        As it was recorded.
    repairs : sequence of Repair
        At most one a note.

    Returns
    -------
    MidiTake
        With the notes in order of their start.
    (n,) int
        Place of each of its notes among the notes of the recording.

    Raises
    ------
    InputError
        If a note is not in the take.
    """
    notes, count = take.notes, len(take.notes)
    if not repairs:
        return take, np.arange(count)
    if repairs and max(repair.note for repair in repairs) >= count:
        raise InputError(f"{take.path.name} has {count} notes; a correction is about one it has not.")
    start, velocity, kept = notes.start.copy(), notes.velocity.copy(), np.ones(count, dtype=bool)
    for repair in repairs:
        kept[repair.note] = not repair.removed
        start[repair.note] = max(start[repair.note] + repair.shift, 0.0)
        if repair.velocity is not None:
            velocity[repair.note] = repair.velocity
    end = np.maximum(notes.end + (start - notes.start), start + SHORTEST)
    order = np.argsort(start, kind="stable")
    order = order[kept[order]]
    arrays = {"start": start, "end": end, "pitch": notes.pitch, "velocity": velocity, "channel": notes.channel}
    tidy = {name: array[order] for name, array in arrays.items()}
    for array in tidy.values():
        array.setflags(write=False)
    duration = max(take.duration, float(end[order].max(initial=0.0)))
    return replace(take, notes=Notes(**tidy), duration=duration), order


def check_repairs(repairs: tuple[Repair, ...]) -> None:
    """Refuse corrections of notes that cannot be.

    Raises
    ------
    InputError
        If they are not in order, each note once, or go too far.
    """
    before = -1
    for repair in repairs:
        if repair.note <= before:
            raise InputError("Corrections of notes must be in order, each note once and from 0 on.")
        if repair.velocity is not None and not 1 <= repair.velocity <= 127:
            raise InputError(f"A velocity of {repair.velocity} cannot be: give 1 to 127.")
        if abs(repair.shift) > FARTHEST:
            raise InputError(f"A note cannot be moved by {repair.shift:.1f} s: {FARTHEST:.0f} s is the most.")
        before = repair.note


def levelled(velocities: Mapping[int, int], strength: float) -> dict[int, int]:
    """Bring velocities nearer to their median.

    Parameters
    ----------
    velocities : mapping of int to int
        Velocity by note.
    strength : float
        Share of the way, 0 to 1.

    Returns
    -------
    dict of int to int
        1 to 127.
    """
    if not velocities:
        raise InputError("No note is chosen: choose the notes to be levelled out first.")
    middle = float(np.median(list(velocities.values())))
    return {
        note: int(np.clip(round(velocity + strength * (middle - velocity)), 1, 127))
        for note, velocity in velocities.items()
    }
