"""What was read from taps: lines that could be placed, and how the musician taps."""

from __future__ import annotations

from dataclasses import dataclass

from core.grid import DOUBTFUL, Pin
from core.tap_bias import Habit


@dataclass(frozen=True, slots=True, order=True)
class TappedLine:
    """A suggested bar line, or a beat that was tapped.

    Parameters
    ----------
    bar, beat, time : int, int, float
        As in `core.grid.Pin`.
    confidence : float
        0 to 1.
    tapped : bool
        Whether a tap was meant for it; else it lies between two that were.
    """

    bar: int
    beat: int
    time: float
    confidence: float
    tapped: bool

    @property
    def doubtful(self) -> bool:
        """Whether it is to be looked at first."""
        return self.confidence < DOUBTFUL

    @property
    def pin(self) -> Pin:
        """The line as the musician places it by accepting it."""
        return Pin(self.time, self.bar, self.beat)


@dataclass(frozen=True, slots=True)
class Tapped:
    """What was read from taps.

    Parameters
    ----------
    lines : tuple of TappedLine
        In order; lines that were placed before are not among them.
    habits : tuple of Habit
        Bias and spread of each pass, by the clock.
    """

    lines: tuple[TappedLine, ...]
    habits: tuple[Habit, ...]

    @property
    def pins(self) -> tuple[Pin, ...]:
        """All lines as pins."""
        return tuple(line.pin for line in self.lines)
