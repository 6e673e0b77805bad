"""The take's own notes, and clicks on the beats, as MIDI events at the ticks of a tempo track."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.nearer import EXACT, Timing, shifts
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
        Largest distance in seconds between a note as played and as written, starts and ends alike; where notes are
        moved on purpose it counts that too.
    warnings : tuple of str
        What could not be kept, each one sentence.
    """

    events: tuple[Event, ...]
    rounding: float
    warnings: tuple[str, ...]


def note_track(take: MidiTake, session: Session, tempi: TempoTrack, *, timing: Timing = EXACT) -> NoteTrack:
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
    timing : Timing
        How far notes are moved towards the grid. A moved note keeps its length in quarters, unless the next one of
        its pitch begins before; what lies between notes, such as the pedal, moves as they do.

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
    shift = _Shift(take, session, tempi, timing)
    begin = np.maximum(_ticks(start, tempi, shift.notes), 0)
    finish = np.maximum(_ticks(end, tempi, shift.notes), begin + 1)
    if timing.strength:
        finish = np.maximum(np.minimum(finish, _next_of_pitch(take, start, end, begin)), begin + 1)
    ordered: list[tuple[int, float, int, int, bytes]] = []
    for i in np.flatnonzero(kept).tolist():
        channel, pitch = int(notes.channel[i]), int(notes.pitch[i])
        on = bytes((0x90 | channel, pitch, int(notes.velocity[i])))
        ordered.append((int(begin[i]), float(start[i]), _ON, i, on))
        ordered.append((int(finish[i]), float(end[i]), _OFF, i, bytes((0x90 | channel, pitch, 0))))
    ordered += _messages(take, session, tempi, shift)
    ordered.sort(key=lambda event: event[:4])
    exact = kept & ~moved
    apart = np.abs(np.concatenate((_heard(begin, tempi) - start, _heard(finish, tempi) - end)))
    apart = apart[np.tile(exact, 2)]
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


class _Shift:
    """Quarters by which notes, and moments between them, are moved towards the grid."""

    def __init__(self, take: MidiTake, session: Session, tempi: TempoTrack, timing: Timing) -> None:
        self.notes = np.zeros(len(take.notes))
        if timing.strength and len(take.notes):
            self._quarters = tempi.sounding.quarters_at(take.notes.start + session.offset)
            self.notes = shifts(take.notes, self._quarters, session, timing)

    def at(self, quarters: Floats) -> Floats:
        """The shift of moments, between those of the notes around them."""
        return np.interp(quarters, self._quarters, self.notes) if self.notes.any() else np.zeros_like(quarters)


def _next_of_pitch(take: MidiTake, start: Floats, end: Floats, begin: NDArray[np.int64]) -> NDArray[np.int64]:
    """Tick at which the next note of the same key begins, where it had ended before that; a late one elsewhere."""
    limit = np.full(len(begin), np.iinfo(np.int64).max)
    following: dict[tuple[int, int], int] = {}
    for i in range(len(begin) - 1, -1, -1):
        key = (int(take.notes.channel[i]), int(take.notes.pitch[i]))
        after = following.get(key)
        if after is not None and end[i] <= start[after]:
            limit[i] = begin[after]
        following[key] = i
    return limit


def _messages(
    take: MidiTake, session: Session, tempi: TempoTrack, shift: _Shift
) -> list[tuple[int, float, int, int, bytes]]:
    """Place the controllers; of those before the session only the last of each kind counts, at its start."""
    early: dict[bytes, tuple[int, float, int, int, bytes]] = {}
    later = []
    for i, message in enumerate(take.messages):
        time = message.time + session.offset
        if time < 0:
            kind = message.data[: 2 if message.data[0] & 0xF0 in (0xA0, 0xB0) else 1]
            early[kind] = (0, -np.inf, _CONTROL, i, message.data)
        else:
            quarters = tempi.sounding.quarters_at(np.array([time]))
            tick = round(float(quarters[0] + shift.at(quarters)[0]) * tempi.division)
            later.append((max(tick, 0), time, _CONTROL, i, message.data))
    return [*early.values(), *later]


def _ticks(seconds: Floats, tempi: TempoTrack, shift: Floats) -> NDArray[np.int64]:
    return np.rint((tempi.sounding.quarters_at(seconds) + shift) * tempi.division).astype(np.int64)


def _heard(ticks: NDArray[np.int64], tempi: TempoTrack) -> Floats:
    return tempi.sounding.seconds_at(ticks / tempi.division)
