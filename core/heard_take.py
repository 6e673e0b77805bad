"""A take as it is heard: its recording through the arrangement, notes put right, and what was said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from core.document import Document
from core.edited_grid import Place, edited_document, edited_grid
from core.edited_midi import edited_midi
from core.errors import InputError
from core.grid import Grid
from core.passages import Passages
from core.repairs import repaired
from core.take import Ints, MidiTake, Take


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardTake:
    """A take as it is heard, in take time.

    Parameters
    ----------
    take : Take
        A MIDI take with the notes that are heard. Of an audio take what is told is as heard, while its file is
        still the recording, to be read through `core.edited_sound`.
    passages : Passages
        What is heard of the recording.
    grid : Grid
        Bars, counted along what is heard.
    document : Document
        What was said, in these bars and this time.
    origin : mapping of Place to Place
        From each beat to that beat in the grid of the recording.
    notes : (n,) int or None
        Place of each note among the notes of the recording; None for audio.
    """

    take: Take
    passages: Passages
    grid: Grid
    document: Document
    origin: Mapping[Place, Place]
    notes: Ints | None


def heard_take(take: Take, document: Document, grid: Grid) -> HeardTake:
    """Work out what is heard of a recording.

    Parameters
    ----------
    take : Take
        As it was recorded.
    document : Document
        What was said of it.
    grid : Grid
        The bars that follow, in recording time.

    Raises
    ------
    InputError
        If nothing or too little of it would be heard, or a note that was put right is not in it.
    """
    arrangement, duration = document.arrangement, take.duration
    passages = arrangement.heard(duration)
    edited = edited_grid(grid, arrangement, duration)
    heard, notes = _heard(take, document, passages)
    return HeardTake(
        take=heard,
        passages=passages,
        grid=edited.grid,
        document=replace(edited_document(document, edited, arrangement, duration), repairs=()),
        origin=edited.origin,
        notes=notes,
    )


def _heard(take: Take, document: Document, passages: Passages) -> tuple[Take, Ints | None]:
    if not isinstance(take, MidiTake):
        frames = round(passages.duration * take.rate)
        return (
            take if document.arrangement.plain else replace(take, duration=passages.duration, frames=frames)
        ), None
    tidy, kept = repaired(take, document.repairs)
    if document.arrangement.plain:
        return tidy, kept
    heard, among = edited_midi(tidy, passages)
    return heard, kept[among]


def check_heard(take: Take, document: Document) -> None:
    """Refuse what cannot be heard of a recording.

    Raises
    ------
    InputError
        If a passage goes beyond it, nothing is left of it, or a note that was put right is not in it.
    """
    document.arrangement.heard(take.duration)
    if document.repairs:
        if not isinstance(take, MidiTake):
            raise InputError(f"{take.path.name} is sound, and has no notes to put right.")
        repaired(take, document.repairs)
