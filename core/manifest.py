"""One list of all files of a hand-over, with size and SHA-256, so that whoever gets them can tell them whole.

JSON (RFC 8259) in UTF-8. SHA-256: FIPS 180-4; the digits are those that ``sha256sum`` prints.
"""

from __future__ import annotations

import json
from typing import BinaryIO

from core.planned import Making, PlannedFile

FORMAT = "barwright hand-over"


def manifest_file(name: str) -> PlannedFile:
    """Plan the list; it names all files written before it."""
    words = "every file with its size and SHA-256, to tell later whether all is whole"
    return PlannedFile("manifest", name, words, make=_write)


def _write(file: BinaryIO, making: Making) -> None:
    session = making.plan.session
    listed = {
        "format": FORMAT,
        "version": 1,
        "name": making.plan.settings.name,
        "recording_at_s": round(session.offset, 6),
        "bar_shift": session.shift,
        "files": [
            {"name": done.path.name, "kind": done.kind, "bytes": done.size, "sha256": done.sha256}
            for done in making.done
        ],
    }
    file.write((json.dumps(listed, indent=2, ensure_ascii=False) + "\n").encode("utf-8", "replace"))
