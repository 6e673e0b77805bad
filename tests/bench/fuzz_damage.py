"""Damages a file as disks, transfers, other programs and ill will: cut, flipped, spliced, with false lengths."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

MOST = 1 << 16
"""Bytes a damaged file is cut to; what makes files slow to read is what they say of themselves, not this."""

_NUMBERS = (0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0x00FFFFFF)

_TAGS = (
    *(b"MThd", b"MTrk", b"RIFF", b"WAVE", b"fmt ", b"data", b"FORM", b"AIFF", b"COMM", b"SSND", b"fLaC", b"OggS"),
    *(
        b"ID3",
        b"Xing",
        b"RMID",
        b"\xff\x2f\x00",
        b"\xff\x51\x03",
        b"\xff\x58\x04",
        b"\xf0",
        b"LIST",
        b"fact",
        b"caff",
    ),
    *(b"ftyp", b"moov", b"mdat", b"stsz", b"stco"),
)

_WORDS = (
    *(b"NaN", b"Infinity", b"-Infinity", b"1e999", b"-0.0", b"1e-320", b"9" * 400, b"-1", b"0", b"true", b"null"),
    *(b'"\\ud800"', b'"\\u0000"', b"{}", b"[]", b'""', b'"', b"\\", b";", b",", b",,,,", b"\r", b"\n", b"\0"),
    *(b"\xff\xfe", b"\xef\xbb\xbf", b"1_000", "\u0661".encode(), b"..", b"/etc", b"C:\\x", b"CON", b"a" * 300),
)

_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")


def damage(data: bytes, others: Sequence[bytes], random: random.Random) -> bytes:
    """Damage a file in one to four ways.

    Parameters
    ----------
    data : bytes
        The file.
    others : sequence of bytes
        Files whose parts may end up in it.
    random : random.Random
        Decides; the same state gives the same damage.
    """
    out = bytearray(data)
    for _ in range(random.choice((1, 1, 1, 2, 2, 3, 4))):
        random.choice(_WAYS)(out, others, random)
    return bytes(out[:MOST])


def _place(out: bytearray, random: random.Random) -> int:
    """Anywhere, but more often near the start, where files say what they are."""
    end = len(out) if random.random() < 0.5 else min(len(out), 64)
    return random.randint(0, end)


def _cut(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    del out[_place(out, random) :]


def _flip(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    for _ in range(random.choice((1, 1, 2, 8)) if out else 0):
        out[min(_place(out, random), len(out) - 1)] ^= 1 << random.randrange(8)


def _set(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    at = _place(out, random)
    out[at : at + 1] = bytes((random.choice((0, 1, 0x7F, 0x80, 0x81, 0xF0, 0xF7, 0xFF, random.randrange(256))),))


def _lie(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    """Write another number where one may be; most often right after the name of a part."""
    size = random.choice((1, 2, 3, 4, 4, 8))
    number = random.choice((*_NUMBERS, random.getrandbits(32), len(out), len(out) + random.randint(-20, 20)))
    at = _place(out, random)
    found = out.find(random.choice(_TAGS))
    if found >= 0 and random.random() < 0.7:
        at = found + 4 + random.choice((0, 0, 0, 4, 8, 12, -8))
    at = max(at, 0)
    out[at : at + size] = (max(number, 0) % (1 << 8 * size)).to_bytes(size, random.choice(("little", "big")))


def _drop(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    at = _place(out, random)
    del out[at : at + random.choice((1, 2, 4, 16, 100))]


def _insert(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    at = _place(out, random)
    out[at:at] = random.choice((*_TAGS, *_WORDS, random.randbytes(random.choice((1, 4, 20)))))


def _splice(out: bytearray, others: Sequence[bytes], random: random.Random) -> None:
    other = random.choice(others)
    start = random.randint(0, len(other))
    at = _place(out, random)
    out[at : at + random.choice((0, 8, 100, len(out)))] = other[start : start + random.choice((8, 100, 4000))]


def _repeat(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    at, size = _place(out, random), random.choice((1, 2, 4, 16, 64, 300))
    out[at:at] = bytes(out[at : at + size]) * random.choice((1, 2, 30, 1000))


def _swap(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    size, a, b = random.choice((1, 4, 32)), _place(out, random), _place(out, random)
    first, second = bytes(out[a : a + size]), bytes(out[b : b + size])
    if len(first) == len(second):
        out[a : a + size], out[b : b + size] = second, first


def _say(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    """Write something else where a number stands in a text."""
    found = list(_NUMBER.finditer(out[:20_000]))
    if found:
        one = random.choice(found)
        out[one.start() : one.end()] = random.choice((*_WORDS, str(random.choice(_NUMBERS)).encode()))


def _nest(out: bytearray, _: Sequence[bytes], random: random.Random) -> None:
    at = _place(out, random)
    out[at:at] = random.choice((b"[", b'{"a":', b'[{"a":', b'"', b"(")) * random.choice((1, 5, 1000, 40_000))


_WAYS: tuple[Callable[[bytearray, Sequence[bytes], random.Random], None], ...] = (
    *(
        _cut,
        _flip,
        _flip,
        _set,
        _set,
        _lie,
        _lie,
        _lie,
        _drop,
        _insert,
        _splice,
        _repeat,
        _swap,
        _say,
        _say,
        _nest,
    ),
)
