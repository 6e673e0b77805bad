"""The take's own notes, and clicks on the beats, as MIDI events at the ticks of a tempo track."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.session import Session
from core.smf import Event
from core.take import MidiTake
from core.tempo_track import TempoTrack

CHORD = 0.08
"""Seconds a chord is spread at most: so much before the session's start still belongs to its first moment."""

_OFF, _CONTROL, _ON = 0, 1, 2


@dataclass(frozen=True, slots=True)
class NoteTrack:
    """Events of the take in the order they are sent.

    Parameters
    ----------
    events : tuple of Event
        Notes, pedal, programs, bends as they were played.
    rounding : float
        Largest distance in seconds between a note as played and as written, starts and ends alike.
    warnings : tuple of str
        What could not be kept, each one sentence.
    """

    events: tuple[Event, ...]
    rounding: float
    warnings: tuple[str, ...]


def note_track(take: MidiTake, session: Session, tempi: TempoTrack) -> NoteTrack:
    """Put every note on the tick that sounds nearest to the moment it was played.

    Ticks are rounded once, from the absolute time. Played order is kept where several events share a tick, so a
    pedal pressed before a key was let go is still pressed before it. No note ends at or before its own start.

    Parameters
    ----------
    take : MidiTake
        With times of the take.
    session : Session
        Where the take lies; what it holds before the session starts is left out, but for the state of its
        controllers.
    tempi : TempoTrack
        The tempo events as written.

    Returns
    -------
    NoteTrack
    """
    notes = take.notes
    start, end = notes.start + session.offset, notes.end + session.offset
    kept = start >= -CHORD
    moved = kept & (start < 0)
    warnings = []
    if lost := int(np.count_nonzero(~kept)):
        warnings.append(
            f"Notes before the start of the session are left out ({lost}); ask for a lead-in to keep them."
        )
    if late := int(np.count_nonzero(moved)):
        warnings.append(
            f"Notes of the first chord ({late}) are put at the start of the session, up to "
            f"{-1000 * start[moved].min():.1f} ms late; ask for a lead-in to keep them exact."
        )
    begin = np.maximum(_ticks(start, tempi), 0)
    finish = np.maximum(_ticks(end, tempi), begin + 1)
    ordered: list[tuple[int, float, int, int, bytes]] = []
    for i in np.flatnonzero(kept).tolist():
        channel, pitch = int(notes.channel[i]), int(notes.pitch[i])
        on = bytes((0x90 | channel, pitch, int(notes.velocity[i])))
        ordered.append((int(begin[i]), float(start[i]), _ON, i, on))
        ordered.append((int(finish[i]), float(end[i]), _OFF, i, bytes((0x90 | channel, pitch, 0))))
    ordered += _messages(take, session, tempi)
    ordered.sort(key=lambda event: event[:4])
    exact = kept & ~moved
    apart = np.abs(np.concatenate((_heard(begin, tempi) - start, _heard(finish, tempi) - end)))[np.tile(exact, 2)]
    return NoteTrack(
        tuple(Event(tick, data) for tick, *_, data in ordered),
        float(apart.max(initial=0.0)),
        tuple(warnings),
    )


def click_events(session: Session, tempi: TempoTrack) -> list[Event]:
    """Clicks on every beat: wood blocks of the percussion channel, the high one on the bar line.

    Source: General MIDI level 1, percussion keys 76 (high wood block) and 77 (low wood block) on channel 10.
    """
    length = tempi.division // 8
    events = []
    for bar, tick in enumerate(tempi.bars, 1):
        starts = (
            session.metre.at(bar).beat_quarters
            if bar < len(tempi.bars)
            else session.metre.at(bar).beat_quarters[:1]
        )
        ticks = [tick + round(start * tempi.division) for start in starts]
        for i, at in enumerate(ticks):
            key, velocity = (77, 48) if i else (76, 72)
            following = (
                ticks[i + 1] if i + 1 < len(ticks) else tempi.bars[bar] if bar < len(tempi.bars) else at + length
            )
            events.append(Event(at, bytes((0x99, key, velocity))))
            events.append(Event(min(at + length, following), bytes((0x99, key, 0))))
    return events


def _messages(take: MidiTake, session: Session, tempi: TempoTrack) -> list[tuple[int, float, int, int, bytes]]:
    """Place the controllers; of those before the session only the last of each kind counts, at its start."""
    early: dict[bytes, tuple[int, float, int, int, bytes]] = {}
    later = []
    for i, message in enumerate(take.messages):
        time = message.time + session.offset
        if time < 0:
            kind = message.data[: 2 if message.data[0] & 0xF0 in (0xA0, 0xB0) else 1]
            early[kind] = (0, -np.inf, _CONTROL, i, message.data)
        else:
            later.append((int(_ticks(np.array([time]), tempi)[0]), time, _CONTROL, i, message.data))
    return [*early.values(), *later]


def _ticks(seconds: Floats, tempi: TempoTrack) -> NDArray[np.int64]:
    return np.rint(tempi.sounding.quarters_at(seconds) * tempi.division).astype(np.int64)


def _heard(ticks: NDArray[np.int64], tempi: TempoTrack) -> Floats:
    return tempi.sounding.seconds_at(ticks / tempi.division)
