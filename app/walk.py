"""Going through the other places of one bar line, best first, and back to the suggestion."""

from __future__ import annotations

from dataclasses import dataclass

from core.document import Document
from core.grid import Beat


@dataclass(frozen=True, slots=True)
class Walk:
    """Where a walk through the alternatives of a bar line has come to.

    The alternatives are those of the suggestion the walk began with: a line that was put on one of them is placed,
    and a placed line has none of its own.

    Parameters
    ----------
    bar : int
        The bar line.
    times : tuple of float
        Its alternatives, in seconds, the likelier first.
    step : int
        0: at the suggestion; 1: at the first alternative, and so on.
    """

    bar: int
    times: tuple[float, ...]
    step: int = 0

    @classmethod
    def of(cls, line: Beat) -> Walk:
        """Begin at a suggested bar line."""
        return cls(line.bar, line.alternatives)

    @property
    def time(self) -> float | None:
        """Where the line goes now; None: it is let go."""
        return self.times[self.step - 1] if self.step else None

    def stepped(self, by: int) -> Walk:
        """So many places on; after the last one comes the suggestion again."""
        return Walk(self.bar, self.times, (self.step + by) % (len(self.times) + 1))

    def goes_on(self, document: Document) -> bool:
        """Whether the document still has the line where the walk put it."""
        pinned = [pin.time for pin in document.pins if (pin.bar, pin.beat) == (self.bar, 1)]
        return pinned == ([] if self.time is None else [self.time])
