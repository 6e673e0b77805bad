"""Edits of what is heard: passages left out, kept, moved and divided, pauses made shorter.

All times are recording time, so none of them moves a placed line, a tap or a section: these stay on their music.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.arrangement import Arrangement, minus
from core.document import Document
from core.errors import InputError
from core.passages import Passage
from core.units import clock

_NOTHING = "Nothing of the recording would be left to hear: keep a passage of it."


@dataclass(frozen=True, slots=True)
class LeaveOut:
    """Hear a stretch of the recording no more.

    Parameters
    ----------
    stretch : Passage
        What is left out.
    duration : float
        Seconds of the recording.
    """

    stretch: Passage
    duration: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{_named(self.stretch)} left out"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where nothing would be left."""
        order = minus(document.arrangement.blocks(self.duration), (self.stretch,))
        return _ordered(document, order, self.duration)


@dataclass(frozen=True, slots=True)
class KeepOnly:
    """Hear one stretch of the recording alone, of those that were heard.

    Parameters
    ----------
    stretch : Passage
        What is kept.
    duration : float
        Seconds of the recording.
    """

    stretch: Passage
    duration: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Only {_named(self.stretch)} kept"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where nothing would be left."""
        blocks = document.arrangement.blocks(self.duration)
        return _ordered(document, minus(blocks, minus(blocks, (self.stretch,))), self.duration)


@dataclass(frozen=True, slots=True)
class BringBack:
    """Hear again what was left out of a stretch of the recording, each piece beside the music it was beside.

    Parameters
    ----------
    stretch : Passage
        Where.
    duration : float
        Seconds of the recording.
    """

    stretch: Passage
    duration: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{_named(self.stretch)} brought back"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where nothing was left out."""
        blocks = list(document.arrangement.blocks(self.duration))
        missing = minus((self.stretch,), blocks)
        if not missing:
            raise InputError("Nothing was left out there.")
        for piece in missing:
            before = max((block for block in blocks if block.end <= piece.start), default=None)
            at = blocks.index(before) + 1 if before is not None else 0
            blocks.insert(at, piece)
            for i in (at, at - 1):
                if 0 <= i < len(blocks) - 1 and blocks[i].end == blocks[i + 1].start:
                    blocks[i : i + 2] = [Passage(blocks[i].start, blocks[i + 1].end)]
        return _ordered(document, blocks, self.duration)


@dataclass(frozen=True, slots=True)
class Divide:
    """Make two passages of one, so that they can be moved apart; nothing sounds otherwise.

    Parameters
    ----------
    time : float
        Where, seconds.
    duration : float
        Seconds of the recording.
    """

    time: float
    duration: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Passage divided at {clock(self.time)}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where no passage is heard there."""
        blocks = document.arrangement.blocks(self.duration)
        at = next((i for i, block in enumerate(blocks) if block.start < self.time < block.end), None)
        if at is None:
            raise InputError(f"No passage can be divided at {clock(self.time)}.")
        two = (Passage(blocks[at].start, self.time), Passage(self.time, blocks[at].end))
        return _ordered(document, (*blocks[:at], *two, *blocks[at + 1 :]), self.duration)


@dataclass(frozen=True, slots=True)
class MovePassage:
    """Hear a passage at another place of the order.

    Parameters
    ----------
    place, to : int
        Its place in the order, and the one it gets, both from 0.
    """

    place: int
    to: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Passage {self.place + 1} moved to place {self.to + 1}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where there is no such place."""
        order = list(document.arrangement.order)
        if not (0 <= self.place < len(order) and 0 <= self.to < len(order)):
            raise InputError(f"There are {max(len(order), 1)} passages; divide one to have more.")
        order.insert(self.to, order.pop(self.place))
        return replace(document, arrangement=replace(document.arrangement, order=tuple(order)))


@dataclass(frozen=True, slots=True)
class Tighten:
    """Make pauses shorter, or as long as they were played.

    Parameters
    ----------
    pauses : tuple of Passage
        The pauses; whatever was taken out of them before is heard again first.
    taken : tuple of Passage
        What is taken out, inside these pauses; nothing of a pause that is to be as it was played.
    """

    pauses: tuple[Passage, ...]
    taken: tuple[Passage, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        what = "A pause" if len(self.pauses) == 1 else f"{len(self.pauses)} pauses"
        if not self.taken:
            return f"{what} as played again"
        return f"{what} tightened by {sum(stretch.duration for stretch in self.taken):.1f} s"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where something outside the pauses would be taken out."""
        for stretch in self.taken:
            if not any(pause.start <= stretch.start and stretch.end <= pause.end for pause in self.pauses):
                raise InputError(f"What is taken out at {clock(stretch.start)} is not inside a pause.")
        kept = [
            stretch
            for stretch in document.arrangement.taken
            if all(stretch.end <= pause.start or stretch.start >= pause.end for pause in self.pauses)
        ]
        taken = tuple(sorted((*kept, *self.taken)))
        return replace(document, arrangement=replace(document.arrangement, taken=taken))


def _ordered(document: Document, order: Sequence[Passage], duration: float) -> Document:
    """Document with another order, of which all as it was played is written in one way only."""
    if not order:
        raise InputError(_NOTHING)
    whole = tuple(order) == (Passage(0.0, duration),)
    arrangement = Arrangement(() if whole else tuple(order), document.arrangement.taken)
    return replace(document, arrangement=arrangement)


def _named(stretch: Passage) -> str:
    return f"{clock(stretch.start)} to {clock(stretch.end)}"
