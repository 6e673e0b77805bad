"""What the window shows at a moment: one frozen value, replaced whole whenever something changes."""

from __future__ import annotations

from dataclasses import dataclass

from core.document import Document
from core.grid import Grid
from core.onsets import Onsets
from core.take import Take

Place = tuple[int, int]
"""Bar and beat of a line; beat 1 is the bar line."""


@dataclass(frozen=True, slots=True)
class Sure:
    """How sure the first proposal was, each 0 to 1."""

    metre: float
    tempo: float


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """One moment of the work; what is not there yet is None.

    Parameters
    ----------
    take : Take or None
        The recording; None in an empty window.
    onsets : Onsets or None
        None until they have been found.
    document : Document or None
        None until there is a first proposal.
    grid : Grid or None
        The bars that follow from the document, as far as they are known.
    pending : bool
        Whether newer suggestions than `grid` are on their way.
    history : tuple of str
        Everything that was done, in words, what was undone included.
    at : int
        How many entries of `history` are in force; those after it can be done again.
    sure : Sure or None
        How sure the first proposal was.
    """

    take: Take | None = None
    onsets: Onsets | None = None
    document: Document | None = None
    grid: Grid | None = None
    pending: bool = False
    history: tuple[str, ...] = ()
    at: int = 0
    sure: Sure | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """A quiet sentence for the strip under the timeline.

    Parameters
    ----------
    text : str
        One sentence.
    details : str
        What can be copied for a report; empty where the sentence says it all.
    warning : bool
        Whether something was refused or went wrong.
    """

    text: str
    details: str = ""
    warning: bool = False
