"""Where the sound of a take comes from as it is heard, be it the recording whole or passages of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial

from core.edited_sound import EditedSound
from core.heard import Heard, Source, Told, hear, source_of
from core.heard_take import HeardTake
from core.passages import Passages
from core.take import AudioTake, MidiTake, Take

Instrument = Callable[[MidiTake], Source]
"""Plays a MIDI take."""


def source_as_heard(recording: Take, heard: HeardTake, instrument: Instrument | None = None) -> Source | None:
    """The sound of a take as it is heard; None of a MIDI take that nothing plays.

    Parameters
    ----------
    recording : Take
        As it was recorded.
    heard : HeardTake
        As it is heard.
    instrument : callable or None
        What plays a MIDI take.
    """
    if isinstance(heard.take, MidiTake):
        return instrument(heard.take) if instrument else None
    if not isinstance(recording, AudioTake):
        return None
    if heard.passages == Passages.whole(recording.duration):
        return source_of(recording)
    frames = round(heard.passages.duration * recording.rate)
    return Source(recording.rate, recording.channels, frames, partial(_edited, recording, heard.passages))


@contextmanager
def _edited(recording: AudioTake, passages: Passages, *, progress: Told = lambda _: None) -> Iterator[Heard]:
    with hear(recording, progress=progress) as sound:
        yield EditedSound(sound, passages)
