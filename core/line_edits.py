"""Edits of single bar lines and beats: place, nudge, let go, accept, insert, take out, shift."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.document import Document
from core.errors import InputError
from core.grid import Pin
from core.numbering import renumbered, valid, with_pins, without
from core.units import clock

Where = tuple[int, int]
"""Bar and beat."""


def named(bar: int | None, beat: int = 1) -> str:
    """Name a bar line or a beat at the start of a sentence."""
    return f"Bar {bar}" if beat == 1 else f"Beat {beat} of bar {bar}"


def bars_named(first: int, last: int | None) -> str:
    """Name a range of bars at the start of a sentence."""
    if last is None:
        return f"Bars from {first} on"
    return f"Bar {first}" if first == last else f"Bars {first} to {last}"


def lines_named(places: tuple[tuple[int | None, int], ...]) -> str:
    """Name several lines: one by its name, neighbours from the first to the last, others by their count."""
    if len(places) == 1:
        return named(*places[0])
    bars = sorted(bar for bar, beat in places if bar is not None and beat == 1)
    if bars and len(bars) == len(places) and bars == list(range(bars[0], bars[0] + len(bars))):
        return bars_named(bars[0], bars[-1])
    return f"{len(places)} bar lines" if len(bars) == len(places) else f"{len(places)} lines and beats"


@dataclass(frozen=True, slots=True)
class Place:
    """Place a bar line or a beat; one that is placed already as that beat of that bar moves there.

    Parameters
    ----------
    pin : Pin
        Numbered.
    """

    pin: Pin

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{named(self.pin.bar, self.pin.beat)} placed at {clock(self.pin.time)}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where the line cannot be there."""
        return _placed(document, (self.pin,))


@dataclass(frozen=True, slots=True)
class Nudge:
    """Move several lines by a little; suggested ones among them are placed by it.

    Parameters
    ----------
    pins : tuple of Pin
        The lines as they are now, numbered.
    seconds : float
        How much later; negative is earlier.
    """

    pins: tuple[Pin, ...]
    seconds: float

    @property
    def words(self) -> str:
        """What was done, for the history."""
        names = lines_named(tuple((pin.bar, pin.beat) for pin in self.pins))
        way = "later" if self.seconds >= 0 else "earlier"
        return f"{names} moved {round(1000 * abs(self.seconds), 3):g} ms {way}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where a line cannot be there."""
        return _placed(document, tuple(replace(pin, time=pin.time + self.seconds) for pin in self.pins))


@dataclass(frozen=True, slots=True)
class LetGo:
    """Let placed lines be suggestions again.

    Parameters
    ----------
    places : tuple of (int, int)
        Bar and beat of each.
    """

    places: tuple[Where, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{lines_named(self.places)} let go"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where none of them is placed or a free bar needs one."""
        places = frozenset(self.places)
        if not document.placed & places:
            raise InputError(f"{lines_named(self.places)} cannot be let go: nothing is placed there.")
        return valid(without(document, lambda pin: (pin.bar, pin.beat) in places))


@dataclass(frozen=True, slots=True)
class Accept:
    """Place suggested bar lines where they are; what is placed already stays.

    Parameters
    ----------
    pins : tuple of Pin
        The suggested lines, in order.
    """

    pins: tuple[Pin, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Bars accepted up to {self.pins[-1].bar}" if self.pins else "No bars accepted"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where they contradict what is placed."""
        return valid(with_pins(document, self.pins))


@dataclass(frozen=True, slots=True)
class Insert:
    """Place a bar line that was not counted yet: it takes the number of the line after it.

    That line and all after it, with their metre, holds, free bars and sections, count one more. The bar that is
    divided hands its metre to both halves; beats placed in it are let go, for nobody has said which they are now.

    Parameters
    ----------
    pin : Pin
        The new bar line.
    keep : tuple of Pin
        Its neighbours as they are shown, in the new count. They are placed with it, since it is from them that
        the musician counted.
    """

    pin: Pin
    keep: tuple[Pin, ...] = ()

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Line inserted at {clock(self.pin.time)}, bar {self.pin.bar}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where the line cannot be there."""
        number = _number(self.pin)
        counted = renumbered(document, lambda bar: (bar + (bar >= number), True))
        return valid(with_pins(counted, (self.pin, *self.keep)))


@dataclass(frozen=True, slots=True)
class TakeOut:
    """Say that a bar line is none: its bar joins the one before.

    All after it count one less. The joined bar keeps the metre it begins with; a change of metre at the line holds
    from the next one. Beats placed in either bar are let go.

    Parameters
    ----------
    bar : int
        Number of the line.
    keep : tuple of Pin
        Its neighbours as they are shown, in the new count. They are placed with it, or the line would be
        suggested again.
    """

    bar: int
    keep: tuple[Pin, ...] = ()

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Bar line {self.bar} taken out"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where the neighbours contradict what is placed."""
        counted = renumbered(document, lambda bar: (bar - (bar >= self.bar), bar != self.bar))
        return valid(with_pins(counted, self.keep))


@dataclass(frozen=True, slots=True)
class ShiftBeats:
    """Move the bar lines of a range by whole beats, placed ones too: the count was right, the "one" was not.

    Parameters
    ----------
    first, last : int, int or None
        Bars; None: all from the first on.
    beats : int
        How many beats later; negative is earlier.
    pins : tuple of Pin
        The lines in their new places: all of the range and the one after it, or, without an end, the first
        two and whatever was placed.
    """

    first: int
    last: int | None
    beats: int
    pins: tuple[Pin, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        count = abs(self.beats)
        way = "later" if self.beats >= 0 else "earlier"
        return f"{bars_named(self.first, self.last)} shifted {count} beat{'s' * (count != 1)} {way}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where the lines run into others."""
        last = self.last
        outside = without(
            document,
            lambda pin: pin.bar is not None and pin.bar >= self.first and (last is None or pin.bar <= last),
        )
        return valid(with_pins(outside, self.pins))


def _placed(document: Document, pins: tuple[Pin, ...]) -> Document:
    """Set pins, each in the place of one with its number."""
    places = {(_number(pin), pin.beat) for pin in pins}
    return valid(with_pins(without(document, lambda pin: (pin.bar, pin.beat) in places), pins))


def _number(pin: Pin) -> int:
    if pin.bar is None:
        raise InputError(f"The line at {clock(pin.time)} needs the number of its bar.")
    return pin.bar
