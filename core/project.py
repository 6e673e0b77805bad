"""The work on one take as it is saved: everything the musician has said of it, and how it came to be said."""

from __future__ import annotations

from dataclasses import dataclass

from core.document import Document
from core.edits import Edit
from core.errors import BarwrightError, InputError
from core.handover_settings import Settings

MOST_STEPS = 2_000_000
"""Placed lines and all else a document holds, over all edits, that are gone through while a history is done again;
no evening has a thousand edits on two thousand lines."""


@dataclass(frozen=True, slots=True)
class Reference:
    """Which recording a project is about; the recording itself stays where it is.

    Parameters
    ----------
    path : str
        From the project's folder to the recording, with ``/`` between folders on every system.
    sha256 : str
        SHA-256 of its bytes, in 64 hexadecimal digits.
    size : int
        Its bytes.
    """

    path: str
    sha256: str
    size: int

    @property
    def name(self) -> str:
        """Name of the file; never a path, on any system."""
        return self.path.replace("\\", "/").rpartition("/")[2]


@dataclass(frozen=True, slots=True)
class Newer:
    """That a project was saved by a newer version, and what of it this one had to leave out.

    Parameters
    ----------
    version : int
        Of its format.
    left_out : tuple of str
        In words; empty where all of it could be read.
    """

    version: int
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Project:
    """The work on one take.

    Parameters
    ----------
    recording : Reference
        What was recorded.
    document : Document
        What the musician has said of it, all told.
    first : Document
        Before anything was done.
    edits : tuple of Edit
        Everything that was done since, what was undone included.
    at : int
        How many of them are in force; done in order to `first` they give `document`.
    settings : Settings or None
        Choices for the hand-over; None: as they come.
    folder : str or None
        Folder of the hand-over, below that of the project; None: beside the recording.
    newer : Newer or None
        None where it was read whole.

    Raises
    ------
    InputError
        If more edits are in force than there are.
    """

    recording: Reference
    document: Document
    first: Document
    edits: tuple[Edit, ...] = ()
    at: int = 0
    settings: Settings | None = None
    folder: str | None = None
    newer: Newer | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.at <= len(self.edits):
            raise InputError(f"Of {len(self.edits)} edits {self.at} cannot be in force.")


def done_again(project: Project) -> tuple[Document, ...] | None:
    """Every document that the edits lead to, one an edit.

    Returns
    -------
    tuple of Document or None
        None where they do not lead to the project's own document, as after a repair of what an edit does: the
        document holds then, and its history is lost.
    """
    documents = [project.first]
    steps = 0
    for edit in project.edits:
        steps += _entries(documents[-1])
        if steps > MOST_STEPS:
            return None
        try:
            documents.append(edit.apply(documents[-1]))
        except BarwrightError:
            return None
    return tuple(documents[1:]) if documents[project.at] == project.document else None


def _entries(document: Document) -> int:
    lists = (document.pins, document.metre.changes, document.holds, document.free, document.sections)
    taps = sum(len(one.times) + len(one.placed) for one in document.taps)
    return sum(map(len, lists)) + len(document.taps) + taps
