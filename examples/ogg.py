"""An Ogg Vorbis file that is the same every time it is written.

libsndfile gives each file a random serial number. It is put to 1 here, and the checksum of each page made anew, as
RFC 3533 ("The Ogg Encapsulation Format Version 0"), section 6, lays the pages out.
"""

from __future__ import annotations

import io
from pathlib import Path

import soundfile

from core.checks import Floats


def write_ogg(path: Path, samples: Floats, *, rate: int) -> None:
    """Write samples (mono, -1 to 1) as Ogg Vorbis."""
    file = io.BytesIO()
    soundfile.write(file, samples, rate, format="OGG", subtype="VORBIS")
    path.write_bytes(with_serial(file.getvalue(), 1))


def with_serial(data: bytes, serial: int) -> bytes:
    """Give every page of an Ogg stream another serial number."""
    out = bytearray()
    while len(out) < len(data):
        start = len(out)
        segments = data[start + 26]
        body = start + 27 + segments
        page = bytearray(data[start : body + sum(data[start + 27 : body])])
        page[14:18] = serial.to_bytes(4, "little")
        page[22:26] = bytes(4)
        page[22:26] = _checksum(page).to_bytes(4, "little")
        out += page
    return bytes(out)


def _table() -> list[int]:
    table = []
    for byte in range(256):
        rest = byte << 24
        for _ in range(8):
            rest = (rest << 1) ^ (0x04C11DB7 if rest & 0x80000000 else 0)
        table.append(rest & 0xFFFFFFFF)
    return table


TABLE = _table()


def _checksum(page: bytes | bytearray) -> int:
    """CRC-32 with the generator 0x04C11DB7, nothing reflected, starting from 0."""
    rest = 0
    for byte in page:
        rest = (rest << 8 & 0xFFFFFFFF) ^ TABLE[rest >> 24 ^ byte]
    return rest
