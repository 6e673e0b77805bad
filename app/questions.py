"""What the window asks of its worker process, and what that answers."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from app.state import Sure
from core.document import Document
from core.grid import Grid
from core.onsets import Onsets
from core.tap_bias import Habit
from core.tapped import Tapped

LISTENING, TRYING, FINDING = "Listening for note onsets", "Trying metres", "Finding the bars"
"""Stages of a take that is opened, as the window says them."""


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
