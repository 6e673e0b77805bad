"""The hand-over of a take as it is heard."""

from __future__ import annotations

from core.document import Document
from core.errors import InputError
from core.grid import Grid
from core.handover import Plan, Settings, plan
from core.heard_take import HeardTake, heard_take
from core.session import Marker
from core.take import MidiTake, Take


def plan_heard(take: Take, document: Document, grid: Grid, settings: Settings) -> Plan:
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

    Raises
    ------
    InputError, HandoverError
        As `heard_take` and `plan` do, or if a file of sound would not fit the map.
    """
    return plan_of(heard_take(take, document, grid), take, settings)


def plan_of(heard: HeardTake, recording: Take, settings: Settings) -> Plan:
    """Work out a hand-over of what is heard of a recording; as `plan_heard`."""
    notes = heard.take if isinstance(heard.take, MidiTake) else None
    if notes is None and heard.take is not recording:
        raise InputError(
            f"{recording.path.name} is audio, and a map of what is heard would not fit the file: "
            "bring all of it back to hand it over as it was played."
        )
    sections = [Marker(section.bar, section.name) for section in heard.document.sections]
    return plan(heard.grid, settings, take=notes, sections=sections)
