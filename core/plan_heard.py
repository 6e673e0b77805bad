"""The hand-over of a take as it is heard."""

from __future__ import annotations

from core.document import Document
from core.grid import Grid
from core.handover import plan
from core.handover_settings import Settings
from core.heard_sound import Instrument, source_as_heard
from core.heard_take import HeardTake, heard_take
from core.passages import Passages
from core.planned import Plan
from core.take import Take


def plan_heard(
    take: Take, document: Document, grid: Grid, settings: Settings, *, instrument: Instrument | None = None
) -> Plan:
    """Work out a hand-over of a take as it is heard.

    Parameters
    ----------
    take : Take
        As it was recorded.
    document : Document
        What was said of it.
    grid : Grid
        The bars that follow, in recording time.
    settings : Settings
        What is asked for.
    instrument : callable or None
        What plays a MIDI take; asked only where its sound is to be written.

    Raises
    ------
    InputError, HandoverError
        As `heard_take` and `plan` do.
    """
    return plan_of(heard_take(take, document, grid), take, settings, instrument=instrument)


def plan_of(
    heard: HeardTake, recording: Take, settings: Settings, *, instrument: Instrument | None = None
) -> Plan:
    """Work out a hand-over of what is heard of a recording; as `plan_heard`."""
    return plan(
        heard.grid,
        settings,
        take=heard.take,
        sections=heard.document.sections,
        source=source_as_heard(recording, heard, instrument if settings.needs_sound else None),
        as_recorded=heard.passages == Passages.whole(recording.duration),
    )
