"""A MIDI take from a Standard MIDI File: ticks to seconds under the tempi of all tracks, strikes to notes."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats, frozen
from core.errors import TakeError
from core.midi_bytes import MOST_BYTES, MidiBytes, Track, parse
from core.take import Message, MidiTake, Notes
from core.take_file import LONGEST, kind_of, whole_file
from core.units import MICROSECONDS

_DEFAULT_TEMPO = 500_000
"""Microseconds a quarter note where a file says none (RP-001)."""

_FRAMES_A_SECOND = {24: Fraction(24), 25: Fraction(25), 29: Fraction(30000, 1001), 30: Fraction(30)}
"""Time-code rates by the number the division names; 29 is thirty drop-frame."""


def read_midi(path: Path) -> MidiTake:
    """Read the notes, pedal and other channel messages of a Standard MIDI File, in seconds.

    Formats 0 and 1 are read with the tempi of all tracks; of format 2, whose tracks are pieces of their own, a
    file with one piece is read. A time-code division is read as it stands. Of a damaged file, what was read up
    to the damage is kept where it has notes.

    Raises
    ------
    TakeError
        If the file cannot be read, is no MIDI file, or has not at least two moments at which a note starts.
    """
    path = Path(path)
    if kind_of(path) != "midi":
        raise TakeError(f"{path} is no Standard MIDI File: export the take as MIDI again.")
    data = whole_file(path, MOST_BYTES, "a MIDI take")
    try:
        return _take(path, parse(data))
    except TakeError as error:
        raise TakeError(f"{path} {error}") from error


def _take(path: Path, found: MidiBytes) -> MidiTake:
    tracks = found.tracks
    if found.form == 2:
        tracks = tuple(track for track in tracks if any(_struck(data) for _, data in track.messages))
        if len(tracks) > 1:
            raise TakeError(
                f"holds {len(tracks)} pieces with times of their own (MIDI format 2): "
                "export the one to map by itself."
            )
    clock = _Clock(found.division, tracks)
    notes = _notes(tracks, clock)
    if len(notes) == 0:
        raise TakeError("holds no notes: choose the file with the playing in it.")
    if notes.start[0] == notes.start[-1]:
        what = "only one note" if len(notes) == 1 else "a single chord and nothing after it"
        raise TakeError(f"holds {what}: there is no time between notes to map.")
    return MidiTake(path=path, duration=clock.duration, notes=notes, messages=_messages(tracks, clock))


class _Clock:
    """Seconds of ticks; exact whole numbers up to one last division.

    Raises
    ------
    TakeError
        If the division says no time, or the last event is later than any take lasts.
    """

    def __init__(self, division: int, tracks: Sequence[Track]) -> None:
        changes = {0: _DEFAULT_TEMPO}
        if division > 0:
            # Sorting is stable: at one tick, the later track's word holds.
            tempi = (event for track in tracks for event in track.tempi)
            changes |= dict(sorted(tempi, key=lambda event: event[0]))
            self._unit = division * MICROSECONDS
        else:
            # With time code a tick is a fixed time and tempi only say how the music is to be written.
            second = _ticks_a_second(division)
            changes, self._unit = {0: second.denominator}, second.numerator
        ticks, rates = list(changes), list(changes.values())
        spent = [0]
        for i in range(1, len(ticks)):
            spent.append(spent[-1] + (ticks[i] - ticks[i - 1]) * rates[i - 1])
        end = max((track.end for track in tracks), default=0)
        last = spent[-1] + (end - ticks[-1]) * rates[-1]
        if last > LONGEST * self._unit:
            raise TakeError(
                f"says it lasts {last / self._unit / 3600:.1f} hours, at most {LONGEST / 3600:.0f} can be mapped: "
                "remove events that are far behind the playing, or export the take again."
            )
        self.duration = last / self._unit
        self._ticks, self._rates, self._spent = (np.array(v, dtype=np.int64) for v in (ticks, rates, spent))

    def seconds(self, ticks: NDArray[np.int64]) -> Floats:
        i = np.searchsorted(self._ticks, ticks, side="right") - 1
        return frozen((self._spent[i] + (ticks - self._ticks[i]) * self._rates[i]) / self._unit)


def _ticks_a_second(division: int) -> Fraction:
    rate, ticks = -(division >> 8), division & 0xFF
    if rate not in _FRAMES_A_SECOND or not ticks:
        raise TakeError("does not say how long its ticks last: export the take as MIDI again.")
    return _FRAMES_A_SECOND[rate] * ticks


def _struck(data: bytes) -> bool:
    return data[0] & 0xF0 == 0x90 and data[2] > 0


def _notes(tracks: Sequence[Track], clock: _Clock) -> Notes:
    rows: list[tuple[int, int, int, int, int]] = []
    for track in tracks:
        keys: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
        for tick, data in track.messages:
            if data[0] & 0xE0 == 0x80:
                keys[data[0] & 0x0F, data[1]].append((tick, data[2] if _struck(data) else 0))
        for (channel, pitch), strokes in keys.items():
            rows += ((down, pitch, up, velocity, channel) for down, up, velocity in _held(strokes, track.end))
    table = np.array(sorted(rows), dtype=np.int64).reshape(-1, 5)
    table.setflags(write=False)
    starts, pitches, ends, velocities, channels = table.T
    return Notes(
        start=clock.seconds(starts),
        end=clock.seconds(ends),
        pitch=pitches,
        velocity=velocities,
        channel=channels,
    )


def _held(strokes: Sequence[tuple[int, int]], end: int) -> list[tuple[int, int, int]]:
    """Pair the strokes of one key to (down, up, velocity).

    Notes that overlap end in the order they began. Where an up is missing that would shift every later one, so
    then a stroke ends the note before it; the last note without an up lasts to the end of its track.
    """
    notes: list[tuple[int, int, int]] = []
    sounding: deque[tuple[int, int]] = deque()
    for tick, velocity in strokes:
        if velocity:
            sounding.append((tick, velocity))
        elif sounding:
            down, hit = sounding.popleft()
            notes.append((down, tick, hit))
    return _cut_short(strokes, end) if sounding else notes


def _cut_short(strokes: Sequence[tuple[int, int]], end: int) -> list[tuple[int, int, int]]:
    notes: list[tuple[int, int, int]] = []
    open_note: tuple[int, int] | None = None
    cut = -1
    for tick, velocity in strokes:
        # An up at the very tick of a stroke that cut a note short belongs to that note.
        if open_note is not None and (velocity or tick != cut):
            notes.append((open_note[0], tick, open_note[1]))
            cut = tick if velocity else -1
            open_note = None
        if velocity:
            open_note = (tick, velocity)
    if open_note is not None:
        notes.append((open_note[0], end, open_note[1]))
    return notes


def _messages(tracks: Sequence[Track], clock: _Clock) -> tuple[Message, ...]:
    # Stable, so that messages of one moment keep their order: a bank is chosen before its programme.
    found = [message for track in tracks for message in track.messages if message[1][0] & 0xE0 != 0x80]
    found.sort(key=lambda message: message[0])
    times = clock.seconds(np.array([tick for tick, _ in found], dtype=np.int64))
    return tuple(Message(time, data) for time, (_, data) in zip(times.tolist(), found, strict=True))
