"""Bytes of a Standard MIDI File from events at ticks: variable-length times, running status, chunks.

Source: MIDI 1.0, RP-001 "Standard MIDI Files 1.0". Text is written as UTF-8: the standard names no encoding
beyond ASCII (common practice, no source).
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from core.errors import HandoverError, InputError
from core.metre import TimeSignature

LONGEST_DELTA = 0x0FFFFFFF
"""Largest variable-length quantity the standard allows."""

CLOCKS = 24
"""MIDI clocks in a quarter note."""


@dataclass(frozen=True, slots=True)
class Event:
    """A whole MIDI message or meta event, status byte first, at an absolute tick."""

    tick: int
    data: bytes


def variable_length(number: int) -> bytes:
    """Seven bits a byte, the highest first, every byte but the last with its top bit set.

    Raises
    ------
    HandoverError
        If the number is negative or needs more than four bytes.
    """
    if not 0 <= number <= LONGEST_DELTA:
        raise HandoverError(
            f"A gap of {number} ticks cannot be written in a MIDI file (at most {LONGEST_DELTA}); "
            "choose fewer ticks a quarter note."
        )
    out = [number & 0x7F]
    while number := number >> 7:
        out.append(number & 0x7F | 0x80)
    return bytes(reversed(out))


def meta(kind: int, data: bytes) -> bytes:
    """Build a meta event: ``FF kind length data``."""
    return bytes((0xFF, kind)) + variable_length(len(data)) + data


def text(kind: int, words: str) -> bytes:
    """Build a text meta event; kind 3 is a track's name, 6 a marker."""
    return meta(kind, words.encode("utf-8", "replace"))


def tempo(us_per_quarter: int) -> bytes:
    """Build a tempo event from whole microseconds a quarter note, 1 to 0xFFFFFF."""
    return meta(0x51, us_per_quarter.to_bytes(3, "big"))


def time_signature(signature: TimeSignature) -> bytes:
    """Build a time signature that clicks on the beats, or on the lower figure's notes where beats differ."""
    unit = 4 * CLOCKS / signature.denominator
    even = len(set(signature.groups)) == 1
    wishes = ([unit * signature.groups[0]] if even else []) + [unit]
    # A sixty-fourth is one and a half clocks: no whole click says it, so a quarter stands in.
    clocks = next((int(wish) for wish in wishes if wish == int(wish) and wish <= 255), CLOCKS)
    return meta(0x58, bytes((signature.numerator, signature.denominator.bit_length() - 1, clocks, 8)))


def key_signature(name: str) -> bytes:
    """Build a key signature from a name such as ``C``, ``Bb`` or ``F#m``.

    Raises
    ------
    InputError
        If the name is no key of at most seven sharps or flats.
    """
    root = name.strip()
    minor = root.endswith("m")
    root = root.removesuffix("m")
    letter, signs = root[:1].upper(), root[1:]
    sharps = 99
    if letter and letter in "FCGDAEB" and signs in ("", "#", "b"):
        sharps = "FCGDAEB".index(letter) - 1 + {"": 0, "#": 7, "b": -7}[signs] - 3 * minor
    if abs(sharps) > 7:
        raise InputError(f'"{name}" is no key: write it like C, Bb or F#m, with at most seven sharps or flats.')
    return meta(0x59, struct.pack("bb", sharps, minor))


def track(events: Iterable[Event], *, end: int = 0) -> bytes:
    """Encode one track chunk with running status and its end-of-track event.

    Parameters
    ----------
    events : iterable of Event
        In the order they shall be sent; ticks never go back.
    end : int
        Earliest tick of the end of the track.
    """
    body = bytearray()
    now, running = 0, None
    for event in events:
        body += variable_length(event.tick - now)
        now, status = event.tick, event.data[0]
        body += event.data[1:] if status == running else event.data
        running = status if status < 0xF0 else None
    body += variable_length(max(end - now, 0)) + meta(0x2F, b"")
    return b"MTrk" + struct.pack(">I", len(body)) + bytes(body)


def smf(tracks: Sequence[bytes], *, division: int, form: int = 1) -> bytes:
    """Join track chunks to a file of format 0 or 1 with `division` ticks a quarter note."""
    return b"MThd" + struct.pack(">IHHH", 6, form, len(tracks), division) + b"".join(tracks)
