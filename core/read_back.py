"""Reading a written tempo map again, byte by byte, on a path of its own: no code is shared with the writer.

Source: MIDI 1.0, RP-001 "Standard MIDI Files 1.0".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from core.checks import Floats
from core.errors import HandoverError, InputError
from core.session import Session
from core.take_file import whole_file

LIMIT = 1e-5
"""Seconds a bar line of the file may be away from the tempo map."""

_TIME_SIGNATURE, _TEMPO = 0x58, 0x51

_MOST_BYTES = 32 << 20

_MOST_EVENTS = 2_000_000
"""A map holds the notes of the take too, and a million of those can be read."""

_MOST_BARS = 100_000


@dataclass(frozen=True, slots=True)
class ReadBack:
    """How far a written file is from what it should say.

    Parameters
    ----------
    bars : int
        Bar lines compared, the lead-in's included.
    worst : float
        Largest distance in seconds between a bar line of the file and of the tempo map.
    worst_bar : int
        Session bar of that bar line.
    worst_to_grid : float
        Largest distance in seconds between a bar line of the file and of the grid: `worst` and the tolerance the
        map was fitted with.
    """

    bars: int
    worst: float
    worst_bar: int
    worst_to_grid: float


def read_back(path: Path, session: Session) -> ReadBack:
    """Compare every bar line of a written file with the session it was written from.

    Raises
    ------
    OSError
        If the file cannot be read.
    HandoverError
        If it is no such file, has another number of bars, or a bar line is more than `LIMIT` away.
    """
    try:
        times = read_bar_lines(path)
    except InputError as error:
        if isinstance(error.__cause__, OSError):
            # The disk failed, not the map: whoever writes knows what the file will be called, and what to do.
            raise error.__cause__ from error
        raise HandoverError(f"The file just written does not read back: {error}") from error
    if len(times) < session.last_bar:
        raise HandoverError(
            f"The file just written does not read back: it has {len(times)} bar lines, not {session.last_bar}."
        )
    times = times[: session.last_bar]
    wanted = session.tempo_map.seconds_at(np.array([float(quarter) for quarter in session.bar_quarters]))
    away = np.abs(times - wanted)
    bar = int(np.argmax(away)) + 1
    if not away[bar - 1] <= LIMIT:
        raise HandoverError(
            f"The file just written does not read back: bar {bar} is at {times[bar - 1]:.6f} s in it, "
            f"not at {wanted[bar - 1]:.6f} s."
        )
    to_grid = np.abs(times[session.first_bar - 1 :] - session.bar_times)
    return ReadBack(len(times), float(away[bar - 1]), bar, float(to_grid.max()))


def read_bar_lines(path: Path) -> Floats:
    """Seconds of every bar line of a Standard MIDI File, from its start to its last event.

    Tempo and time signature events count on whatever track they are; without any, 120 and 4/4 hold. A time
    signature starts a bar.

    Returns
    -------
    (bars,) float
        Seconds, ascending; bar 1 first.

    Raises
    ------
    InputError
        If the file cannot be read or is no such file of format 0 or 1 counted in ticks a quarter note.
    """
    data = whole_file(path, _MOST_BYTES, "a tempo map")
    try:
        division, metas, end = _read(data)
        return _bar_lines(division, metas, end)
    except (IndexError, _DamagedError) as error:
        reason = str(error) if isinstance(error, _DamagedError) else "it ends too early"
        raise InputError(f"{path} is not a tempo map that can be read: {reason}.") from error


class _DamagedError(Exception):
    """What is wrong with the bytes, as the end of a sentence."""


def _bar_lines(division: int, metas: list[tuple[int, int, bytes]], end: int) -> Floats:
    """Lay out bars from the time signatures, then seconds from the tempi, in exact fractions."""
    signatures = {0: Fraction(4 * division)}
    tempi = {0: 500_000}
    for tick, kind, data in metas:
        if kind == _TIME_SIGNATURE and len(data) >= 2:
            signatures[tick] = Fraction(4 * division * data[0], 2 ** min(data[1], 32))
            if not data[0]:
                raise _DamagedError("it has a time signature of no beats")
        elif kind == _TEMPO and len(data) == 3:
            tempi[tick] = int.from_bytes(data, "big")
    lines: list[Fraction] = []
    starts = sorted(signatures)
    for start, stop in zip(starts, [*starts[1:], None], strict=True):
        span = Fraction((end - start) if stop is None else (stop - start))
        # The last stretch has a bar line at its very end, where another would have the next signature's.
        count = int(span // signatures[start]) + 1 if stop is None else int(-(-span // signatures[start]))
        if len(lines) + count > _MOST_BARS:
            raise _DamagedError("it has more bars than any music")
        lines += [start + i * signatures[start] for i in range(count)]
    seconds: list[float] = []
    changes = sorted(tempi)
    at, elapsed = 0, Fraction(0)
    for line in lines:
        while at + 1 < len(changes) and changes[at + 1] <= line:
            elapsed += (changes[at + 1] - changes[at]) * tempi[changes[at]]
            at += 1
        seconds.append(float((elapsed + (line - changes[at]) * tempi[changes[at]]) / (1_000_000 * division)))
    return np.array(seconds)


def _read(data: bytes) -> tuple[int, list[tuple[int, int, bytes]], int]:
    """Find the division, the tempi and time signatures of all tracks in order of time, and the last tick."""
    if data[:4] != b"MThd":
        raise _DamagedError("it is no Standard MIDI File")
    size = int.from_bytes(data[4:8], "big")
    form, division = int.from_bytes(data[8:10], "big"), int.from_bytes(data[12:14], "big")
    if len(data) < 14 or form > 1:
        raise _DamagedError("only formats 0 and 1 have one time for all tracks")
    if not 0 < division < 0x8000:
        raise _DamagedError("it does not count in ticks a quarter note")
    metas: list[tuple[int, int, bytes]] = []
    last, at, events = 0, 8 + size, 0
    while at < len(data):
        kind, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "big")
        events += 1
        chunk = data[at + 8 : at + 8 + size]
        if len(chunk) < size:
            raise _DamagedError("it ends too early")
        if kind == b"MTrk":
            tick = 0
            for tick, event, content in _events(chunk):
                events += 1
                if event in (_TIME_SIGNATURE, _TEMPO):
                    metas.append((tick, event, content))
                if events > _MOST_EVENTS:
                    break
            last = max(last, tick)
        if events > _MOST_EVENTS:
            raise _DamagedError("it has more events than any music")
        at += 8 + size
    return division, sorted(metas, key=lambda event: event[0]), last


def _events(chunk: bytes) -> Iterator[tuple[int, int | None, bytes]]:
    """Yield tick, kind (None but for meta events) and content of each event of a track."""
    at = tick = status = 0
    while at < len(chunk):
        delta, at = _quantity(chunk, at)
        tick += delta
        if chunk[at] >= 0x80:
            status, at = chunk[at], at + 1
        if status == 0xFF:
            length, begin = _quantity(chunk, at + 1)
            yield tick, chunk[at], chunk[begin : begin + length]
            at = begin + length
        elif status in (0xF0, 0xF7):
            length, begin = _quantity(chunk, at)
            at = begin + length
            yield tick, None, b""
        elif 0x80 <= status < 0xF0:
            at += 1 if 0xC0 <= status < 0xE0 else 2
            yield tick, None, b""
        else:
            raise _DamagedError("it has an event of no known kind")


def _quantity(data: bytes, at: int) -> tuple[int, int]:
    """Read a variable-length quantity; give it and the place after it."""
    number = 0
    for _ in range(4):
        byte = data[at]
        number, at = number << 7 | byte & 0x7F, at + 1
        if byte < 0x80:
            return number, at
    raise _DamagedError("a time in it has more than four bytes")
