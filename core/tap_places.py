"""The places in the score that taps can mean: beats and bar lines in order, and which of them were tapped."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

import numpy as np

from core.checks import Floats
from core.metre import Metre, TimeSignature
from core.pulse import BAR, BEAT

Every = Literal["beat"] | int
"""What was tapped: every beat, or a bar line every so many bars."""


@dataclass(frozen=True, slots=True)
class Place:
    """A beat of the score.

    Parameters
    ----------
    bar, beat : int
        As in `core.grid.Pin`.
    position : Fraction
        Quarters from bar line 1.
    signature : TimeSignature
        Of its bar.
    """

    bar: int
    beat: int
    position: Fraction
    signature: TimeSignature

    @property
    def level(self) -> int:
        """`BAR` or `BEAT` as in `core.pulse`."""
        return BAR if self.beat == 1 else BEAT


@dataclass(frozen=True)
class Places:
    """All places from a first one on, by their index.

    Parameters
    ----------
    metre : Metre
        Time signatures.
    all : tuple of Place
        In order, without a gap.
    tapped, lines : tuple of int
        Indices of the places that were to be tapped, and of all bar lines, ascending.
    beats : bool
        Whether beats were to be tapped.
    """

    metre: Metre
    all: tuple[Place, ...]
    tapped: tuple[int, ...]
    lines: tuple[int, ...]
    beats: bool

    @classmethod
    def of(cls, metre: Metre, bar: int, beat: int, every: Every, bars: int) -> Places:
        """The places of so many bars, the first tapped one first."""
        places: list[Place] = []
        tapped: list[int] = []
        lines: list[int] = []
        for number in range(bar, bar + bars + 1):
            signature, start = metre.at(number), metre.quarter_of(number)
            for at, quarters in enumerate(signature.beat_quarters, 1):
                if number == bar and at < beat:
                    continue
                if at == 1:
                    lines.append(len(places))
                if every == "beat" or (at == 1 and (number - bar) % every == 0):
                    tapped.append(len(places))
                places.append(Place(number, at, start + quarters, signature))
        return cls(metre, tuple(places), tuple(tapped), tuple(lines), every == "beat")

    @cached_property
    def quarters(self) -> Floats:
        """Score position of each place as a number."""
        return np.array([float(place.position) for place in self.all])

    @cached_property
    def _index(self) -> dict[tuple[int, int], int]:
        return {(place.bar, place.beat): i for i, place in enumerate(self.all)}

    def index(self, bar: int, beat: int) -> int | None:
        """Index of a place, None where it lies outside."""
        return self._index.get((bar, beat))

    def after(self, index: int, most: int, *, lines: bool = False) -> tuple[int, ...]:
        """The next tapped places, or the next bar lines, after a place."""
        which = self.lines if lines else self.tapped
        begin = bisect_right(which, index)
        return which[begin : begin + most]
