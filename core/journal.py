"""The journal of a take: every gesture as one line that proves itself, so that after a fall all of them come back.

A line is the CRC-32 of itself and all lines before it, in eight hexadecimal digits, a space, and one JSON object.
The first line holds the work so far, every other one thing done since. A line cut off in the middle, or any after
damage, does not fit the sum before it and is left out.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any
from zlib import crc32

from core.document import Document
from core.edit_codec import edit_from_json, edit_to_json
from core.edits import Edit
from core.errors import BarwrightError, InputError
from core.project import Project, done_again
from core.project_codec import SHA256, fitting, from_json, parsed, to_json

FORMAT, VERSION = "barwright journal", 1

LARGEST = 128 * 2**20
"""Bytes of a journal that is read; it is begun anew long before."""

UNKNOWN = "0" * 64
"""Instead of the SHA-256 of a recording whose bytes have not been gone through yet."""

Record = Mapping[str, Any]
"""What a line says, as JSON values."""

_LINE = re.compile(rb"([0-9a-f]{8}) (\{.*\})\n")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The work on a take as a journal holds it.

    Parameters
    ----------
    work : Project
        What was done; the path of its recording is that on this machine, whole.
    path : str or None
        Path of the project file; None while the work was never saved.
    stamp : str or None
        State of that file when it was read or written last.
    choices : mapping
        Choices of the hand-over, as plain values.
    steps : int
        Gestures since the journal was begun.
    lost : int
        Bytes at its end that could not be read.
    led : tuple of Document
        What each edit leads to; empty where nothing was read.
    """

    work: Project
    path: str | None = None
    stamp: str | None = None
    choices: Mapping[str, Any] = field(default_factory=dict)
    steps: int = 0
    lost: int = 0
    led: tuple[Document, ...] = field(default=(), compare=False)


def begun(kept: Kept) -> Record:
    """Record the work so far; a journal begins with it."""
    fitted = fitting(kept.work)
    return {
        "format": FORMAT,
        "version": VERSION,
        "path": kept.path,
        "stamp": kept.stamp,
        "work": to_json(fitted),
        "dropped": len(kept.work.edits) - len(fitted.edits),
        "choices": dict(kept.choices),
        "steps": kept.steps,
    }


def did(edit: Edit) -> Record:
    """Record one edit."""
    return {"do": edit_to_json(edit)}


def went(at: int) -> Record:
    """Record that so many edits are in force by now: undo and redo."""
    return {"go": at}


def chose(choices: Mapping[str, Any]) -> Record:
    """Record the choices of the hand-over."""
    return {"choose": dict(choices)}


def recognised(sha256: str) -> Record:
    """Record what the recording holds, once its bytes were gone through."""
    return {"sha256": sha256}


def sealed(record: Record, before: int = 0) -> tuple[bytes, int]:
    """Write a record as a line.

    Parameters
    ----------
    record : mapping
        What it says.
    before : int
        Sum of the line before; 0 for the first.

    Returns
    -------
    bytes
        The line.
    int
        Its sum.
    """
    text = json.dumps(record, allow_nan=False, separators=(",", ":")).encode("ascii")
    total = crc32(text, before)
    return b"%08x %s\n" % (total, text), total


def read_journal(data: bytes) -> Kept:
    """Read a journal as far as it is whole.

    Raises
    ------
    InputError
        If not even its first line is.
    """
    if len(data) > LARGEST:
        raise InputError("The journal is too large.")
    end = total = 0
    pages: _Pages | None = None
    while match := _LINE.match(data, end):
        total = crc32(match[2], total)
        if int(match[1], 16) != total:
            break
        try:
            record = parsed(match[2])
            if pages is None:
                pages = _Pages(record)
            else:
                pages.take_up(record)
        except BarwrightError:
            break
        end = match.end()
    if pages is None:
        raise InputError("The journal holds no work that can be read.")
    return pages.kept(lost=len(data) - end)


class _Pages:
    """The work on its way through the lines."""

    def __init__(self, record: Any) -> None:
        match record:
            case {
                "format": str(kind),
                "version": int(version),
                "path": str() | None as path,
                "stamp": str() | None as stamp,
                "work": work,
                "dropped": int(dropped),
                "choices": choices,
                "steps": int(steps),
            } if kind == FORMAT and version == VERSION:
                self.path, self.stamp, self.work = path, stamp, from_json(work)
                self.choices, self.steps = _plain(choices), steps
            case _:
                raise InputError("It is no journal of this version.")
        led = done_again(self.work)
        # Where the edits lead elsewhere by now, what they led to holds, and nothing before it can be undone.
        self.missing = dropped + (self.work.at if led is None else 0)
        self.documents = [self.work.document] if led is None else [self.work.first, *led]
        self.edits = [] if led is None else list(self.work.edits)
        self.at = 0 if led is None else self.work.at

    def take_up(self, record: Any) -> None:
        match record:
            case {"do": edit}:
                self._do(edit_from_json(edit))
                self.steps += 1
            case {"go": int(at)}:
                self.at = min(max(at - self.missing, 0), len(self.edits))
                self.steps += 1
            case {"choose": choices}:
                self.choices = _plain(choices)
                self.steps += 1
            case {"sha256": str(sha256)} if SHA256.fullmatch(sha256):
                self.work = replace(self.work, recording=replace(self.work.recording, sha256=sha256))
            case _:
                raise InputError("This version does not know what the line says.")

    def _do(self, edit: Edit) -> None:
        document = edit.apply(self.documents[self.at])
        del self.edits[self.at :], self.documents[self.at + 1 :]
        self.edits.append(edit)
        self.documents.append(document)
        self.at += 1

    def kept(self, *, lost: int) -> Kept:
        work = replace(
            self.work,
            document=self.documents[self.at],
            first=self.documents[0],
            edits=tuple(self.edits),
            at=self.at,
        )
        return Kept(
            work=work,
            path=self.path,
            stamp=self.stamp,
            choices=self.choices,
            steps=self.steps,
            lost=lost,
            led=tuple(self.documents[1:]),
        )


def _plain(data: Any) -> dict[str, Any]:
    if not isinstance(data, dict) or any(isinstance(each, dict | list) for each in data.values()):
        raise InputError("The choices of the hand-over cannot be read.")
    return data
