"""The sound of a MIDI take for a hand-over: its notes played once by the piano that comes with the app."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

import numpy as np

from app.sound.piano_take import PianoTake
from core.heard import Heard, Moved, Source, Told, spool
from core.take import Message, MidiTake

RATE = 48_000
"""Frames a second."""

_BLOCK = 1 << 13
"""Frames rendered at once: few, as each note that sounds in a block is rendered to its end."""

_WORDS = "played by the piano that comes with Barwright"


def by_piano(take: MidiTake) -> Source:
    """A MIDI take played by the piano, until the last note has died away.

    Parameters
    ----------
    take : MidiTake
        As it is heard.
    """
    piano = PianoTake(take, RATE, voices=None)
    return Source(RATE, 2, piano.frames, partial(_played, piano), partial(_moved, take), _WORDS)


@contextmanager
def _played(piano: PianoTake, *, progress: Told = lambda _: None) -> Iterator[Heard]:
    with spool(RATE, 2) as sound:
        for first in range(0, piano.frames, _BLOCK):
            sound.add(piano.read(first, min(_BLOCK, piano.frames - first)))
            progress(min((first + _BLOCK) / piano.frames, 1.0))
        yield sound


def _moved(take: MidiTake, where: Moved) -> Source:
    """The same notes and pedal at other moments; each sounds as it does."""
    notes = replace(take.notes, start=where(take.notes.start), end=where(take.notes.end))
    times = where(np.array([*(message.time for message in take.messages), take.duration])).tolist()
    messages = tuple(Message(time, message.data) for time, message in zip(times, take.messages, strict=False))
    return by_piano(replace(take, notes=notes, messages=messages, duration=times[-1]))
