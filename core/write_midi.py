"""The tempo map as a Standard MIDI File of format 1.

The first track holds the name, key and time signatures, the tempo and the markers; the take's own notes and a
click follow on tracks of their own where they are asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.document import Section
from core.errors import InputError
from core.nearer import EXACT, Timing
from core.note_track import click_events, note_track
from core.session import Session
from core.smf import Event, key_signature, smf, tempo, text, time_signature, track
from core.take import MidiTake
from core.tempo_track import TempoTrack, tempo_track

_NAME, _MARKER = 0x03, 0x06


@dataclass(frozen=True, slots=True)
class MapFile:
    """A file not yet written, and what is in it.

    Parameters
    ----------
    data : bytes
        All of it.
    tempo_events : int
        Number of tempo events in it.
    note_rounding : float or None
        Largest distance in seconds between a note as played and as written; None where no notes were asked for.
    warnings : tuple of str
        What of the take could not be kept, each one sentence.
    """

    data: bytes
    tempo_events: int
    note_rounding: float | None
    warnings: tuple[str, ...]


def map_file(
    session: Session,
    *,
    name: str = "Tempo map",
    division: int = 960,
    markers: Sequence[Section] = (),
    key: str | None = None,
    take: MidiTake | None = None,
    timing: Timing = EXACT,
    click: bool = False,
    steady_us: int | None = None,
) -> MapFile:
    """Make the file of a session's tempo map.

    Parameters
    ----------
    session : Session
        The map and where the take lies.
    name : str
        Name of the first track.
    division : int
        Ticks a quarter note, 96 to 15360.
    markers : sequence of Section
        Names at bar lines of the take.
    key : str or None
        Key signature such as ``Bb`` or ``F#m``; none is written without it.
    take : MidiTake or None
        Its notes go along, at ticks that sound as they were played. Times are those of the take.
    timing : Timing
        How far they are moved towards the grid.
    click : bool
        Whether a click track goes along.
    steady_us : int or None
        Microseconds a quarter note instead of the session's tempi: every note at its own place of the same bar, at
        one steady tempo.

    Returns
    -------
    MapFile

    Raises
    ------
    InputError
        If the division, the key or a marker cannot be.
    HandoverError
        If a passage is slower than a tempo event can say.
    """
    tempi = tempo_track(session, division=division)
    events = zip(tempi.ticks, tempi.us, strict=True) if steady_us is None else [(0, steady_us)]
    tracks = [track(_conductor(session, tempi, list(events), name, markers, key), end=tempi.bars[-1])]
    notes = note_track(take, session, tempi, timing=timing) if take else None
    if notes:
        tracks.append(track([Event(0, text(_NAME, "Take")), *notes.events], end=tempi.bars[-1]))
    if click:
        tracks.append(track([Event(0, text(_NAME, "Click")), *click_events(session, tempi)], end=tempi.bars[-1]))
    return MapFile(
        data=smf(tracks, division=division),
        tempo_events=len(tempi.ticks) if steady_us is None else 1,
        note_rounding=notes.rounding if notes else None,
        warnings=notes.warnings if notes else (),
    )


def _conductor(
    session: Session,
    tempi: TempoTrack,
    events_of_tempo: Sequence[tuple[int, int]],
    name: str,
    markers: Sequence[Section],
    key: str | None,
) -> list[Event]:
    """Events of the first track in the order they are sent."""
    events = [Event(0, text(_NAME, name))]
    if key:
        events.append(Event(0, key_signature(key)))
    events += [Event(tempi.bars[bar - 1], time_signature(signature)) for bar, signature in session.metre.changes]
    events += [Event(tick, tempo(us)) for tick, us in events_of_tempo]
    for marker in markers:
        bar = marker.bar + session.shift
        if not 1 <= bar <= session.last_bar:
            raise InputError(
                f'The marker "{marker.name}" is at bar {marker.bar}, but the map has the bars '
                f"{1 - session.shift} to {session.last_bar - session.shift}; move it to one of them."
            )
        events.append(Event(tempi.bars[bar - 1], text(_MARKER, marker.name)))
    return sorted(events, key=lambda event: event.tick)
