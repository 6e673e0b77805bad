"""Tracks of a Standard MIDI File from its bytes, keeping all that can be kept of a damaged one.

Source: MIDI 1.0, RP-001 "Standard MIDI Files 1.0". The general reader libraries lose a whole file for one bad key
signature or a missing end, and the time before an event of a kind they do not know; a take must lose neither.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.errors import TakeError

MOST_BYTES = 32 << 20
"""Bytes a file may have; more than a million events need."""

MOST_EVENTS = 1_000_000
"""Events a take may hold; two hours of a busy player with a continuous pedal hold a fifth."""

_MOST_CHUNKS = 0xFFFF
"""The header's two bytes count no more tracks."""

_END_OF_TRACK, _TEMPO = 0x2F, 0x51

_SYSTEM_BYTES = {0xF1: 1, 0xF2: 2, 0xF3: 1}
"""Data bytes of the system messages that have any; none belongs in a file."""


@dataclass(frozen=True, slots=True)
class Track:
    """One track, times in ticks from its start.

    Parameters
    ----------
    messages : list of (int, bytes)
        Channel messages, status byte first, data bytes 0 to 127.
    tempi : list of (int, int)
        Microseconds a quarter note from a tick on, each at least 1.
    end : int
        Tick of its last event.
    events : int
        How many there are, of any kind.
    """

    messages: list[tuple[int, bytes]]
    tempi: list[tuple[int, int]]
    end: int
    events: int


@dataclass(frozen=True, slots=True)
class MidiBytes:
    """What a file says of itself, and its tracks."""

    form: int
    division: int
    tracks: tuple[Track, ...]


def parse(data: bytes) -> MidiBytes:
    """Read the header and every track.

    Parameters
    ----------
    data : bytes
        A whole file, bare or in a RIFF file.

    Returns
    -------
    MidiBytes
        `division` as the header has it: negative for time code.

    Raises
    ------
    TakeError
        If there is no whole header, or far too many events; the sentence lacks its subject, the file.
    """
    start = data.find(b"MThd", 0, 64)
    if start < 0:
        raise TakeError("is no Standard MIDI File: export the take as MIDI again.")
    if len(data) < start + 14:
        raise TakeError("ends within its header: export or copy the take again.")
    size = int.from_bytes(data[start + 4 : start + 8], "big")
    form = int.from_bytes(data[start + 8 : start + 10], "big")
    division = int.from_bytes(data[start + 12 : start + 14], "big", signed=True)
    at = start + 8 + (size if 6 <= size < 64 else 6)
    tracks: list[Track] = []
    room = MOST_EVENTS
    # Only looked at, never copied: each of many tracks may say that it has all the rest of the file.
    view = memoryview(data)
    for _ in range(_MOST_CHUNKS):
        at = _next_chunk(data, at)
        if at + 8 >= len(data):
            break
        begin, size = at + 8, int.from_bytes(data[at + 4 : at + 8], "big")
        stop = min(begin + size, len(data))
        if data[at : at + 4] == b"MTrk":
            track, ended = _track(view[begin:stop], room)
            tracks.append(track)
            room -= track.events
            if room < 0:
                raise TakeError(f"holds more than {MOST_EVENTS} events: cut it into shorter takes.")
            # A wrong length must not swallow the next track.
            stop = begin + ended if data[begin + ended : begin + ended + 4] == b"MTrk" else stop
        at = stop
    return MidiBytes(form, division, tuple(tracks))


def _next_chunk(data: bytes, at: int) -> int:
    """Place of the next chunk: here, where its name is four letters, or wherever the next track starts."""
    if data[at : at + 4].isalpha():
        return at
    found = data.find(b"MTrk", at)
    return len(data) if found < 0 else found


def _track(chunk: memoryview, room: int) -> tuple[Track, int]:
    """Read events until the end of track, or until the bytes make no sense or run out."""
    messages: list[tuple[int, bytes]] = []
    tempi: list[tuple[int, int]] = []
    at = tick = running = end = events = 0
    try:
        while at < len(chunk) and events <= room:
            delta, at = _quantity(chunk, at)
            tick += delta
            events += 1
            status, at = (chunk[at], at + 1) if chunk[at] >= 0x80 else (running, at)
            begin, stop = _content(chunk, at, status)
            if status < 0xF0:
                running = status
                messages.append((tick, bytes((status, *(min(byte, 127) for byte in chunk[begin:stop])))))
            elif status == 0xFF and chunk[at] == _TEMPO and stop - begin >= 3:
                tempo = int.from_bytes(chunk[begin : begin + 3], "big")
                tempi += [(tick, tempo)] if tempo else []
            ended = status == 0xFF and chunk[at] == _END_OF_TRACK
            at, end = stop, tick
            if ended:
                break
    except (IndexError, _DamagedError):
        pass
    return Track(messages, tempi, end, events), at


def _content(chunk: memoryview, at: int, status: int) -> tuple[int, int]:
    """Where the content of an event begins and ends; `at` is the place after its status byte."""
    if status in (0xFF, 0xF0, 0xF7):
        length, begin = _quantity(chunk, at + (status == 0xFF))
        stop = begin + length
    else:
        begin = at
        stop = at + (1 if 0xC0 <= status < 0xE0 else 2 if status < 0xF0 else _SYSTEM_BYTES.get(status, 0))
    if not status or stop > len(chunk):
        raise _DamagedError
    return begin, stop


class _DamagedError(Exception):
    """Bytes that are no time, no length or no event, or too few of them."""


def _quantity(data: memoryview, at: int) -> tuple[int, int]:
    """Read a variable-length quantity; give it and the place after it."""
    number = 0
    for place in range(at, at + 4):
        byte = data[place]
        number = number << 7 | byte & 0x7F
        if byte < 0x80:
            return number, place + 1
    raise _DamagedError
