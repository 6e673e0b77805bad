"""What is heard of a recording, as the musician has arranged it: passages in an order, and pauses made shorter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from core.errors import InputError
from core.passages import Passage, Passages

_SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Which passages are heard, in which order, and what is taken out of pauses inside them.

    The two are told apart because bars go with passages, while a pause that is made shorter leaves every bar and
    beat as it is counted. All times are recording time.

    Parameters
    ----------
    order : tuple of Passage
        Passages as they are heard, no moment twice; empty: all of the recording as it was played.
    taken : tuple of Passage
        Stretches taken out of pauses, ascending.

    Raises
    ------
    InputError
        If passages overlap, or stretches do.
    """

    order: tuple[Passage, ...] = ()
    taken: tuple[Passage, ...] = ()

    def __post_init__(self) -> None:
        if self.order:
            Passages(self.order)
        for before, after in pairwise(self.taken):
            if after.start < before.end:
                raise InputError(
                    f"What is taken out of pauses must be in order: {after.start:.3f} s comes before "
                    f"{before.end:.3f} s."
                )

    @property
    def plain(self) -> bool:
        """Whether all is heard as it was played."""
        return not self.order and not self.taken

    def blocks(self, duration: float) -> tuple[Passage, ...]:
        """Passages in order, of a recording of so many seconds."""
        return self.order or (Passage(0.0, duration),)

    def pieces(self, duration: float) -> tuple[tuple[Passage, ...], ...]:
        """What is left of each passage without what is taken out of its pauses."""
        return tuple(minus((block,), self.taken) for block in self.blocks(duration))

    def heard(self, duration: float) -> Passages:
        """Everything that is heard, as passages that have a seam between any two of them.

        Parameters
        ----------
        duration : float
            Seconds of the recording.

        Raises
        ------
        InputError
            If nothing is, or a passage goes beyond the recording.
        """
        if self.plain:
            return Passages.whole(duration)
        parts: list[Passage] = []
        for part in (part for pieces in self.pieces(duration) for part in pieces):
            if part.end > duration + _SLACK:
                raise InputError(
                    f"A passage goes on to {part.end:.3f} s, but the recording ends at {duration:.3f} s: "
                    "choose the recording that belongs to it."
                )
            if parts and parts[-1].end == part.start:
                parts[-1] = Passage(parts[-1].start, part.end)
            else:
                parts.append(part)
        if not parts:
            raise InputError("Nothing of the recording would be left to hear: keep a passage of it.")
        return Passages(tuple(parts))


AS_PLAYED = Arrangement()
"""All of a recording."""


def minus(parts: Iterable[Passage], stretches: Iterable[Passage]) -> tuple[Passage, ...]:
    """Cut stretches out of passages, whose order stays."""
    left = tuple(parts)
    for stretch in stretches:
        kept: list[Passage] = []
        for part in left:
            if stretch.end <= part.start or stretch.start >= part.end:
                kept.append(part)
                continue
            if part.start < stretch.start:
                kept.append(Passage(part.start, stretch.start))
            if stretch.end < part.end:
                kept.append(Passage(stretch.end, part.end))
        left = tuple(kept)
    return left
