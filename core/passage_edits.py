"""Edits of passages: without a pulse, or held."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.document import Document
from core.errors import InputError
from core.grid import Pin
from core.line_edits import bars_named
from core.metre import TimeSignature
from core.numbering import course_of, in_order, renumbered, valid, with_pins, without


@dataclass(frozen=True, slots=True)
class MarkFree:
    """Make one bar without a pulse of a range: it begins and ends as placed, its beats lie evenly.

    Lines placed inside are let go, and so are holds; what comes after counts on from the one bar, in the metre it
    had.

    Parameters
    ----------
    first, last : int
        Bars.
    signature : TimeSignature
        Of the one bar.
    begin, end : float
        Seconds of its two bar lines.
    """

    first: int
    last: int
    signature: TimeSignature
    begin: float
    end: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{bars_named(self.first, self.last)} without pulse"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where its ends contradict what is placed."""
        in_order(self.first, self.last)
        first, last = self.first, self.last

        def new_line(bar: int) -> tuple[int, bool]:
            if bar <= first:
                return bar, True
            return (bar - (last - first), True) if bar > last else (first, False)

        inside = range(first, last + 1)
        emptied = without(
            document,
            lambda pin: (
                (pin.bar in inside and (pin.bar, pin.beat) != (first, 1))
                or (pin.bar is None and self.begin < pin.time < self.end)
            ),
        )
        course = course_of(emptied)
        pulsed = replace(
            emptied,
            metre=replace(course, free={b: s for b, s in course.free.items() if b not in inside}).metre,
            free=tuple(bar for bar in emptied.free if bar not in inside),
            holds=tuple(bar for bar in emptied.holds if bar not in inside),
        )
        counted = renumbered(pulsed, new_line)
        course = course_of(counted)
        freed = replace(
            counted,
            metre=replace(course, free={**course.free, first: self.signature}).metre,
            free=tuple(sorted((*counted.free, first))),
        )
        return valid(with_pins(freed, (Pin(self.begin, first), Pin(self.end, first + 1))))


@dataclass(frozen=True, slots=True)
class UnmarkFree:
    """Give a free bar its pulse back, in the metre of the music before it; its ends stay placed.

    Parameters
    ----------
    bar : int
        The free bar.
    bars : int
        How many bars it becomes.
    """

    bar: int
    bars: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{bars_named(self.bar, self.bar + self.bars - 1)} with a pulse again"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where the bar is not free."""
        if self.bar not in document.free:
            raise InputError(f"Bar {self.bar} has its pulse already.")
        if self.bars < 1:
            raise InputError(f"Bar {self.bar} must become at least one bar, not {self.bars}.")
        course = course_of(document)
        pulsed = replace(
            document,
            metre=replace(course, free={b: s for b, s in course.free.items() if b != self.bar}).metre,
            free=tuple(bar for bar in document.free if bar != self.bar),
        )
        return valid(renumbered(pulsed, lambda bar: (bar + (self.bars - 1) * (bar > self.bar), True)))


@dataclass(frozen=True, slots=True)
class MarkHold:
    """Say that a bar is held, which gives it extra beats, or that it is not.

    Parameters
    ----------
    bar : int
        Bar.
    held : bool
        Whether it is.
    """

    bar: int
    held: bool

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Bar {self.bar} held" if self.held else f"Bar {self.bar} no longer held"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where the bar has no pulse."""
        if self.held and self.bar in document.free:
            raise InputError(f"Bar {self.bar} has no pulse, so it cannot be held.")
        holds = {*document.holds, self.bar} if self.held else set(document.holds) - {self.bar}
        return valid(replace(document, holds=tuple(sorted(holds))))
