"""Onsets of any take, in take time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

import numpy as np

from core.errors import TakeError
from core.onsets import Onsets
from core.passages import Passages
from core.take import MidiTake, Take

FEWEST = 2
"""One onset alone has no tempo."""


def find_onsets(
    take: Take, passages: Passages | None = None, *, progress: Callable[[float], None] | None = None
) -> Onsets:
    """Find the onsets of a take, whichever way it came in.

    Parameters
    ----------
    passages : Passages, optional
        What is heard of the recording; all of it where not given.
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Raises
    ------
    TakeError
        If there are not enough onsets to map.
    """
    if isinstance(take, MidiTake):
        from core.onsets_midi import midi_onsets  # noqa: PLC0415 - each kind loads only what it needs

        onsets = midi_onsets(take)
    else:
        from core.onsets_audio import audio_onsets  # noqa: PLC0415

        onsets = audio_onsets(take, progress=progress)
    if passages is not None:
        onsets = in_take_time(onsets, passages)
    if len(onsets) < FEWEST:
        heard = "one onset" if len(onsets) else "no onset"
        raise TakeError(f"{take.path} has {heard}, too few to map: choose a take with music in it.")
    return onsets


def in_take_time(onsets: Onsets, passages: Passages) -> Onsets:
    """Move onsets from recording time to take time; those of passages left out are dropped."""
    time = passages.to_take(onsets.time)
    order = np.argsort(time)[: int(np.isfinite(time).sum())]
    rows = {item.name: getattr(onsets, item.name)[order] for item in fields(onsets)[3:]}
    return Onsets(source=onsets.source, duration=passages.duration, time=time[order], **rows)
