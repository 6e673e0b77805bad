"""What stands in for a recording that is not there, so that the work on it can be looked at and gone on with."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from core.document import Document
from core.onsets import Onsets
from core.onsets_midi import midi_onsets
from core.take import MidiTake, Notes

SHORTEST, AFTER = 60.0, 10.0
"""Seconds of it at the least, and after the last that the musician placed."""


def stand_in(path: Path, document: Document, others: Iterable[Document] = ()) -> tuple[MidiTake, Onsets]:
    """Make an empty take, and onsets where the musician placed lines, that the bars between are even.

    Parameters
    ----------
    path : Path
        Where the recording should be.
    document : Document
        What the musician has said of it.
    others : iterable of Document
        What undo and redo lead to; they find room in the take too.

    Returns
    -------
    MidiTake
        Without a note.
    Onsets
        One at each placed line, and steady ones after the last.
    """
    times = [pin.time for pin in document.pins]
    last = max(map(_last, (document, *others)))
    duration = max(SHORTEST, last + AFTER)
    # Beyond what was placed a steady half second: bars are counted as far as something is heard.
    times += np.arange(times[-1] + 0.5 if times else 0.0, duration, 0.5).tolist()
    struck = MidiTake(path=path, duration=duration, notes=_notes(np.array(times)), messages=())
    return MidiTake(path=path, duration=duration, notes=_notes(np.zeros(0)), messages=()), midi_onsets(struck)


def _last(document: Document) -> float:
    taps = (one.times[-1] for one in document.taps if one.times)
    return max(*(pin.time for pin in document.pins), *taps, 0.0, 0.0)


def _notes(times: np.ndarray) -> Notes:
    ones = np.ones(len(times), dtype=np.int64)
    notes = Notes(start=times, end=times + 0.1, pitch=60 * ones, velocity=64 * ones, channel=0 * ones)
    for array in (notes.start, notes.end, notes.pitch, notes.velocity, notes.channel):
        array.setflags(write=False)
    return notes
