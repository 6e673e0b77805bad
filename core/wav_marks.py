"""Named places in a WAV file.

Source: Microsoft and IBM, "Multimedia Programming Interface and Data Specifications 1.0" (1991): the ``cue ``
chunk counts its points and gives each 24 bytes (identifier, place in play order, chunk it is in, chunk start,
block start, sample offset); a ``labl`` chunk in the list ``adtl`` names one, ending in a zero byte; every chunk
has an even length in the file. Text is written as UTF-8: the specification names no encoding (common practice, no
source).
"""

from __future__ import annotations

import os
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO


@dataclass(frozen=True, slots=True, order=True)
class Mark:
    """A named place: frames from the first one of the file."""

    frame: int
    name: str


def mark_chunks(marks: Sequence[Mark]) -> bytes:
    """Make the chunks ``cue `` and ``LIST``; nothing without a mark."""
    if not marks:
        return b""
    points = b"".join(
        struct.pack("<II4sIII", number, mark.frame, b"data", 0, 0, mark.frame)
        for number, mark in enumerate(marks, 1)
    )
    names = [mark.name.replace("\0", " ").encode("utf-8", "replace") for mark in marks]
    labels = b"".join(
        _chunk(b"labl", struct.pack("<I", number) + name + b"\0") for number, name in enumerate(names, 1)
    )
    return _chunk(b"cue ", struct.pack("<I", len(marks)) + points) + _chunk(b"LIST", b"adtl" + labels)


def marks_size(marks: Sequence[Mark]) -> int:
    """Bytes the marks take in a file, at most."""
    return sum(24 + 14 + 4 * len(mark.name) for mark in marks) + 24 if marks else 0


def add_marks(file: BinaryIO, marks: Sequence[Mark]) -> None:
    """Put marks at the end of a finished WAV file, open for writing, and count them into its length."""
    chunks = mark_chunks(marks)
    if not chunks:
        return
    end = file.seek(0, os.SEEK_END)
    if end % 2:
        file.write(b"\0")
    file.write(chunks)
    length = file.seek(0, os.SEEK_END) - 8
    file.seek(4)
    file.write(struct.pack("<I", length))
    file.seek(0, os.SEEK_END)


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)
