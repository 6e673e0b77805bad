"""Bar lines and beats of a take: what the musician placed, what is suggested, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction
from itertools import pairwise, starmap
from operator import attrgetter

import numpy as np

from core.checks import Floats
from core.errors import PinError
from core.metre import Metre, positions

DOUBTFUL = 0.5
"""A suggested bar line that is less sure than this wants to be looked at first."""


@dataclass(frozen=True, slots=True, order=True)
class Pin:
    """A bar line (or a beat inside a bar) that the musician placed. Nothing ever moves it.

    Parameters
    ----------
    time : float
        Seconds of take time.
    bar : int or None
        Bar number, or None where only the place is known and the count is left to the suggestion.
    beat : int
        Beat within the bar, from 1; 1 is the bar line itself.
    """

    time: float
    bar: int | None = None
    beat: int = 1


@dataclass(frozen=True, slots=True)
class Beat:
    """One beat of the grid. A beat numbered 1 is a bar line.

    Parameters
    ----------
    time : float
        Seconds of take time.
    bar : int
        Bar number.
    beat : int
        Beat within the bar, from 1.
    placed : bool
        Whether the musician placed it (a pin).
    confidence : float
        0 to 1; 1 when placed.
    alternatives : tuple of float
        Other places for a bar line, in seconds, the likelier first; empty for other beats.
    """

    time: float
    bar: int
    beat: int
    placed: bool = False
    confidence: float = 1.0
    alternatives: tuple[float, ...] = ()

    @property
    def doubtful(self) -> bool:
        """Whether it is a suggestion to be looked at first."""
        return not self.placed and self.confidence < DOUBTFUL


@dataclass(frozen=True, slots=True)
class Grid:
    """The frozen bar grid of a take.

    Parameters
    ----------
    metre : Metre
        Time signatures by bar number.
    beats : tuple of Beat
        All beats in order of time. The first bar may start on any beat (a pickup), and the grid ends on
        a bar line, so that every bar it holds has a length.

    Raises
    ------
    PinError
        If the beats are not in order of time, or bars and beats are not counted one after the other.
    """

    metre: Metre
    beats: tuple[Beat, ...]

    def __post_init__(self) -> None:
        bar, count = None, 0
        for before, after in pairwise(self.beats):
            if not after.time > before.time:
                raise PinError(
                    f"Beat {after.beat} of bar {after.bar} at {after.time:.6f} s does not come after "
                    f"beat {before.beat} of bar {before.bar} at {before.time:.6f} s; move or remove one of them."
                )
            if before.bar != bar:
                bar, count = before.bar, self.metre.at(before.bar).beats
            expected = (bar + 1, 1) if before.beat == count else (bar, before.beat + 1)
            if (after.bar, after.beat) != expected:
                raise PinError(
                    f"Bar {after.bar} beat {after.beat} cannot follow bar {before.bar} beat {before.beat}."
                )

    def __reduce__(self) -> tuple[object, ...]:
        # In columns: thousands of beats are sent from process to process at each edit.
        return _grid, (self.metre, *zip(*(_columns(beat) for beat in self.beats), strict=True))

    @property
    def bar_lines(self) -> tuple[Beat, ...]:
        """The bar lines alone, in order."""
        return tuple(beat for beat in self.beats if beat.beat == 1)

    @property
    def bar_times(self) -> Floats:
        """Times of the bar lines, shape (bars,), seconds."""
        return np.array([beat.time for beat in self.beats if beat.beat == 1], dtype=np.float64)

    @property
    def bar_lengths(self) -> Floats:
        """Length of each whole bar as it is written, shape (bars - 1,), quarters."""
        position = positions(self.metre)
        return np.diff([position(beat.bar) for beat in self.beats if beat.beat == 1])

    @property
    def bar_tempi(self) -> Floats:
        """Mean tempo of each whole bar, shape (bars - 1,), quarters a minute."""
        return 60.0 * self.bar_lengths / np.diff(self.bar_times)

    @property
    def beat_times(self) -> Floats:
        """Times of all beats, shape (beats,), seconds."""
        return np.array([beat.time for beat in self.beats], dtype=np.float64)

    def quarter_of(self, beat: Beat) -> Fraction:
        """Score position of a beat, in quarters from bar line 1."""
        signature = self.metre.at(beat.bar)
        return self.metre.quarter_of(beat.bar) + signature.beat_quarters[beat.beat - 1]


_columns = attrgetter(*(item.name for item in fields(Beat)))


def _grid(metre: Metre, *columns: tuple[object, ...]) -> Grid:
    return Grid(metre, tuple(starmap(Beat, zip(*columns, strict=True))))
