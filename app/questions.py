"""What the window asks of its worker process, what that answers, and how both go through a pipe.

A message is its length in four bytes and then a pickle. Both ends are our own and the pipe is nobody else's.
"""

from __future__ import annotations

import pickle
import struct
from dataclasses import dataclass
from pathlib import Path

from app.state import Sure
from core.document import Document
from core.grid import Grid
from core.onsets import Onsets
from core.tap_bias import Habit
from core.taps import Tapped

LISTENING, TRYING, FINDING = "Listening for note onsets", "Trying metres", "Finding the bars"
"""Stages of a take that is opened, as the window says them."""

_LENGTH = struct.Struct("!I")


@dataclass(frozen=True, slots=True)
class Listen:
    """Find the onsets of the take in a file."""

    number: int
    path: Path


@dataclass(frozen=True, slots=True, eq=False)
class Resume:
    """Go on with onsets that were found before; has no answer."""

    onsets: Onsets


@dataclass(frozen=True, slots=True)
class Propose:
    """Propose a first document."""

    number: int


@dataclass(frozen=True, slots=True)
class Suggest:
    """Suggest the bars that follow from a document; only the newest of several is answered."""

    number: int
    document: Document


@dataclass(frozen=True, slots=True)
class ReadTaps:
    """Read the lines that the open taps of a document would place; counted apart from the other questions."""

    number: int
    document: Document
    habit: Habit | None


@dataclass(frozen=True, slots=True)
class Forget:
    """The take is closed: give its memory back; has no answer."""


Question = Listen | Resume | Propose | Suggest | ReadTaps | Forget


@dataclass(frozen=True, slots=True)
class Stage:
    """What is being done for a question, and the share of it that is done, 0 to 1."""

    number: int
    words: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """Answer to `Listen`."""

    number: int
    onsets: Onsets


@dataclass(frozen=True, slots=True)
class Proposed:
    """Answer to `Propose`; where the take has too little for a proposal, `sure` is None and `why` says so."""

    number: int
    document: Document
    grid: Grid
    sure: Sure | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Suggested:
    """Answer to `Suggest`."""

    number: int
    document: Document
    grid: Grid


@dataclass(frozen=True, slots=True)
class Refused:
    """The question cannot be answered: one sentence, and details where it is a fault of our own."""

    number: int
    sentence: str
    details: str = ""


@dataclass(frozen=True, slots=True)
class TapsRead:
    """Answer to `ReadTaps`; `tapped` is None where they cannot be read, and the rest is as in `Refused`."""

    number: int
    document: Document
    tapped: Tapped | None
    why: str = ""
    details: str = ""


Answer = Stage | Heard | Proposed | Suggested | Refused | TapsRead


def packed(message: Question | Answer) -> bytes:
    """Bytes of a message."""
    data = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
    return _LENGTH.pack(len(data)) + data


class Unpacker:
    """Puts messages together again from whatever pieces a pipe delivers."""

    def __init__(self) -> None:
        self._data = bytearray()

    def feed(self, data: bytes) -> list[Question | Answer]:
        """Take in a piece; return the messages it completes."""
        self._data += data
        messages: list[Question | Answer] = []
        while len(self._data) >= _LENGTH.size:
            end = _LENGTH.size + _LENGTH.unpack_from(self._data)[0]
            if len(self._data) < end:
                break
            messages.append(pickle.loads(bytes(self._data[_LENGTH.size : end])))  # noqa: S301 - our own child
            del self._data[:end]
        return messages
