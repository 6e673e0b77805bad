"""Edits of tapping: taps are kept, told what they mean, their lines placed, or dropped."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from itertools import accumulate

from core.document import Document, TapPass
from core.errors import InputError
from core.grid import Pin
from core.numbering import valid, with_pins, without
from core.units import clock

NONE_OPEN = "No taps are waiting to be placed: tap along first."


def meant(every: int) -> str:
    """What was tapped, in words."""
    return {0: "beats", 1: "bar lines", 2: "every second bar"}.get(every, f"every {every} bars")


def replaceable(document: Document) -> frozenset[float]:
    """Times of the placed lines that the open taps go over again and that were tapped themselves."""
    spans = sorted((one.times[0], one.times[-1]) for one in document.taps if one.open)
    begins = [first for first, _ in spans]
    # The latest end of all that begin as early: one look then tells whether any of them reaches so far.
    ends = list(accumulate((last for _, last in spans), max))

    def over(one: TapPass) -> bool:
        i = bisect_right(begins, one.times[-1])
        return i > 0 and ends[i - 1] >= one.times[0]

    return frozenset(time for one in document.taps if over(one) for time in one.placed)


@dataclass(frozen=True, slots=True)
class KeepTaps:
    """Keep a pass of taps; its lines are placed by `AcceptTaps`.

    Parameters
    ----------
    taps : TapPass
        Open.
    """

    taps: TapPass

    @property
    def words(self) -> str:
        """What was done, for the history."""
        count = len(self.taps.times)
        return f"{count} tap{'s' * (count != 1)} from {clock(self.taps.times[0])}, {meant(self.taps.every)}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done."""
        return valid(replace(document, taps=(*document.taps, self.taps)))


@dataclass(frozen=True, slots=True)
class MeanTaps:
    """Say what the taps kept last were meant for.

    Parameters
    ----------
    every, bar, beat : int
        As in `core.document.TapPass`.
    """

    every: int
    bar: int
    beat: int = 1

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Taps read as {meant(self.every)} from bar {self.bar}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where no taps are open."""
        if not document.taps or not document.taps[-1].open:
            raise InputError(NONE_OPEN)
        last = replace(document.taps[-1], every=self.every, bar=self.bar, beat=self.beat)
        return valid(replace(document, taps=(*document.taps[:-1], last)))


@dataclass(frozen=True, slots=True)
class AcceptTaps:
    """Place lines that were tapped. What was placed otherwise stays; what was tapped before gives way.

    Parameters
    ----------
    pins : tuple of Pin
        The lines, numbered.
    done : bool
        Whether the taps are dealt with by that; else the rest of their lines still waits.
    """

    pins: tuple[Pin, ...]
    done: bool = True

    @property
    def words(self) -> str:
        """What was done, for the history."""
        bars = [pin.bar for pin in self.pins if pin.bar is not None]
        if not bars:
            return "No tapped lines placed"
        one = bars[0] == bars[-1]
        return f"Tapped bar {bars[0]} placed" if one else f"Tapped bars {bars[0]} to {bars[-1]} placed"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where the lines contradict what is placed."""
        if not any(one.open for one in document.taps):
            raise InputError(NONE_OPEN)
        again, places = replaceable(document), {(pin.bar, pin.beat) for pin in self.pins}
        kept = without(document, lambda pin: pin.time in again and (pin.bar, pin.beat) in places)
        before = {pin.time for pin in kept.pins}
        placed = with_pins(kept, self.pins)
        new = tuple(sorted({pin.time for pin in placed.pins} - before))
        taps = tuple(
            replace(one, placed=tuple(sorted({*one.placed, *new})), open=not self.done) if one.open else one
            for one in document.taps
        )
        return valid(replace(placed, taps=taps))


@dataclass(frozen=True, slots=True)
class DropTaps:
    """Forget the taps that wait to be placed; what was placed from them stays."""

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return "Taps dropped"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where no taps are open."""
        if not any(one.open for one in document.taps):
            raise InputError(NONE_OPEN)
        taps = tuple(replace(one, open=False) for one in document.taps if not one.open or one.placed)
        return replace(document, taps=taps)
