"""A reader of RIFF files for tests, written from the specification and sharing nothing with the writer.

Source: Microsoft and IBM, "Multimedia Programming Interface and Data Specifications 1.0" (1991).
"""

import struct
from pathlib import Path


def chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    """Name and content of each chunk one after the other; odd ones are padded."""
    found, at = [], 0
    while at < len(data):
        name, size = struct.unpack_from("<4sI", data, at)
        assert at + 8 + size <= len(data), "a chunk is longer than its file"
        found.append((name, data[at + 8 : at + 8 + size]))
        at += 8 + size + size % 2
    return found


def wave_chunks(path: Path) -> dict[bytes, bytes]:
    """Read all chunks of a WAV file whose length is what it says."""
    data = path.read_bytes()
    assert data[:4] == b"RIFF"
    assert data[8:12] == b"WAVE"
    assert struct.unpack_from("<I", data, 4)[0] == len(data) - 8
    return dict(chunks(data[12:]))


def cue_points(path: Path) -> list[tuple[int, str]]:
    """Frame and label of each cue point, in the order of the file."""
    there = wave_chunks(path)
    if b"cue " not in there:
        return []
    (count,) = struct.unpack_from("<I", there[b"cue "])
    assert len(there[b"cue "]) == 4 + 24 * count
    kind, *_ = [there[b"LIST"][:4]]
    assert kind == b"adtl"
    labels = {}
    for name, data in chunks(there[b"LIST"][4:]):
        assert name == b"labl"
        assert data[-1:] == b"\0"
        labels[struct.unpack_from("<I", data)[0]] = data[4:-1].decode("utf-8")
    points = []
    for i in range(count):
        number, _, chunk, start, block, frame = struct.unpack_from("<II4sIII", there[b"cue "], 4 + 24 * i)
        assert (chunk, start, block) == (b"data", 0, 0)
        points.append((frame, labels[number]))
    assert len(labels) == count
    return points
