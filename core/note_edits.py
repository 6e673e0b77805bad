"""Edits of single notes: removed, moved, struck harder or softer, and as they were played again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from core.document import Document
from core.errors import InputError
from core.repairs import Repair, check_repairs


@dataclass(frozen=True, slots=True)
class RemoveNotes:
    """Leave notes out.

    Parameters
    ----------
    notes : tuple of int
        Their places in the recording.
    """

    notes: tuple[int, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{_counted(self.notes)} removed"

    def apply(self, document: Document) -> Document:
        """Document with the edit done."""
        return _changed(document, self.notes, lambda repair: replace(repair, removed=True))


@dataclass(frozen=True, slots=True)
class MoveNotes:
    """Move notes in time.

    Parameters
    ----------
    notes : tuple of int
        Their places in the recording.
    seconds : float
        How much later; negative is earlier.
    """

    notes: tuple[int, ...]
    seconds: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        way = "later" if self.seconds >= 0 else "earlier"
        return f"{_counted(self.notes)} moved {1000 * abs(self.seconds):.0f} ms {way}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where that is too far from where it was played."""
        return _changed(
            document, self.notes, lambda repair: replace(repair, shift=round(repair.shift + self.seconds, 9))
        )


@dataclass(frozen=True, slots=True)
class SetVelocities:
    """Have notes struck harder or softer.

    Parameters
    ----------
    velocities : tuple of (int, int)
        Place in the recording and velocity, 1 to 127, of each note.
    """

    velocities: tuple[tuple[int, int], ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        if len(self.velocities) == 1:
            return f"Velocity {self.velocities[0][1]} for a note"
        return f"Velocities of {len(self.velocities)} notes corrected"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where a velocity cannot be."""
        wanted = dict(self.velocities)
        return _changed(document, wanted, lambda repair: replace(repair, velocity=wanted[repair.note]))


@dataclass(frozen=True, slots=True)
class RestoreNotes:
    """Have notes as they were played.

    Parameters
    ----------
    notes : tuple of int
        Their places in the recording.
    """

    notes: tuple[int, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{_counted(self.notes)} as played again"

    def apply(self, document: Document) -> Document:
        """Document with the edit done."""
        return _changed(document, self.notes, lambda repair: Repair(repair.note))


def _changed(document: Document, notes: Iterable[int], change: Callable[[Repair], Repair]) -> Document:
    chosen = sorted(set(notes))
    if not chosen:
        raise InputError("No note is chosen: choose one in the picture of the notes first.")
    known = {repair.note: repair for repair in document.repairs}
    known |= {note: change(known.get(note, Repair(note))) for note in chosen}
    repairs = tuple(known[note] for note in sorted(known) if not known[note].plain)
    check_repairs(repairs)
    return replace(document, repairs=repairs)


def _counted(notes: tuple[int, ...]) -> str:
    return "A note" if len(notes) == 1 else f"{len(notes)} notes"
