"""Edits of bars: their length, metre and count."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from core.document import Document
from core.errors import InputError, MetreError
from core.grid import Pin
from core.line_edits import bars_named
from core.metre import Metre, TimeSignature
from core.numbering import course_of, in_order, renumbered, valid, with_pins, without


@dataclass(frozen=True, slots=True)
class HalveBars:
    """Make the bars of a range half as long: each becomes two in the same metre, numbers after it follow.

    A beat placed in one of them becomes the bar line or the beat it is in the new count, and is let go where the
    metre has no such beat. A hold goes to both halves, since only one of them will need it.

    Parameters
    ----------
    first, last : int, int or None
        Bars; None: all from the first on.
    pins : tuple of Pin
        Lines that are placed with it, in the new count.
    """

    first: int
    last: int | None
    pins: tuple[Pin, ...] = ()

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{bars_named(self.first, self.last)} half as long"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; an InputError where a bar has no pulse or lines contradict each other."""
        in_order(self.first, self.last)
        first, last = self.first, self.last

        def new_line(bar: int) -> tuple[int, bool]:
            if bar < first:
                return bar, True
            if last is not None and bar > last:
                return bar + last - first + 1, True
            return first + 2 * (bar - first), True

        metre = course_of(document).pulse

        def new_pin(pin: Pin) -> Pin | None:
            bar = pin.bar or 0
            number, _ = new_line(bar)
            if bar < first or (last is not None and bar > last):
                return replace(pin, bar=number)
            signature = metre.at(bar)
            half, place = divmod(2 * signature.beat_quarters[pin.beat - 1], signature.quarters)
            return _as_beat(pin, number + int(half), place, signature)

        return valid(with_pins(renumbered(document, new_line, new_pin), self.pins))


@dataclass(frozen=True, slots=True)
class DoubleBars:
    """Make the bars of a range twice as long: each two become one in the metre of the first of them.

    A line placed in the middle of a joined bar becomes a beat where the metre has one there, and is let go where
    not. A change of metre there holds from the next bar line.

    Parameters
    ----------
    first, last : int, int or None
        Bars, an even number of them; None: all from the first on.
    pins : tuple of Pin
        Lines that are placed with it, in the new count.
    """

    first: int
    last: int | None
    pins: tuple[Pin, ...] = ()

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{bars_named(self.first, self.last)} twice as long"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; an InputError where a bar has no pulse or is left over."""
        in_order(self.first, self.last)
        first, last = self.first, self.last
        if last is not None and (last - first) % 2 == 0:
            raise InputError(f"{bars_named(first, last)} cannot be joined in pairs: choose one bar more or less.")

        def new_line(bar: int) -> tuple[int, bool]:
            if bar < first:
                return bar, True
            if last is not None and bar > last:
                return bar - (last - first + 1) // 2, True
            return first + (bar - first) // 2, (bar - first) % 2 == 0

        metre = course_of(document).pulse

        def new_pin(pin: Pin) -> Pin | None:
            bar = pin.bar or 0
            number, _ = new_line(bar)
            if bar < first or (last is not None and bar > last):
                return replace(pin, bar=number)
            begin = first + 2 * ((bar - first) // 2)
            length = metre.at(begin).quarters + metre.at(begin + 1).quarters
            place = metre.at(bar).beat_quarters[pin.beat - 1]
            if bar > begin:
                place += metre.at(begin).quarters
            signature = metre.at(begin)
            return _as_beat(pin, number, place / length * signature.quarters, signature)

        return valid(with_pins(renumbered(document, new_line, new_pin), self.pins))


@dataclass(frozen=True, slots=True)
class ChangeMetre:
    """Give another metre from a bar on, until the next change; free bars in between stay as they are.

    From bar 1, or one before it, it is the metre of what was played earlier as well. Placed bar lines stay; placed
    beats that the new metre has not are let go.

    Parameters
    ----------
    bar : int
        Bar.
    signature : TimeSignature
        Its metre and that of the bars after it.
    """

    bar: int
    signature: TimeSignature

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"{self.signature.full} from bar {self.bar}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; MetreError where the bar has no pulse or the pickup is too long for it."""
        if self.bar in document.free:
            raise MetreError(f"Bar {self.bar} has no pulse: change the metre from the bar after it.")
        course = course_of(document)
        if self.bar <= 1 and all(bar >= self.bar for bar in course.changes):
            later = {bar: signature for bar, signature in course.changes.items() if bar > self.bar}
            course = replace(course, opening=self.signature, changes=later)
        else:
            course = replace(course, changes={**course.changes, self.bar: self.signature})
        metre = course.metre
        changed = replace(document, metre=metre)
        return valid(without(changed, lambda pin: pin.beat > metre.at(pin.bar or 0).beats))


@dataclass(frozen=True, slots=True)
class MarkPickup:
    """Say how much of the bar before bar 1 is music.

    Parameters
    ----------
    quarters : Fraction
        Its length in quarters; 0: there is no pickup.
    """

    quarters: Fraction

    @property
    def words(self) -> str:
        """What was done, for the history."""
        if not self.quarters:
            return "No pickup"
        return f"Pickup of {self.quarters} quarter{'s' * (self.quarters > 1)}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; MetreError or PinError where the pickup cannot be so long or so short."""
        return valid(replace(document, metre=Metre(document.metre.changes, self.quarters)))


@dataclass(frozen=True, slots=True)
class Renumber:
    """Give a bar line another number: bars were missed before it, or there were too many.

    It and all after it count as many more or fewer. A change of metre in bars that are no longer there holds from
    this line on.

    Parameters
    ----------
    pin : Pin
        The line with its new number; it is placed.
    by : int
        New number minus old one.
    """

    pin: Pin
    by: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Bar {(self.pin.bar or 0) - self.by} counted as bar {self.pin.bar}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; PinError where what is placed before it leaves too few numbers."""
        new = self.pin.bar or 0
        old = new - self.by

        def new_line(bar: int) -> tuple[int, bool]:
            if bar >= old:
                return bar + self.by, True
            return (bar, True) if bar < new else (new - 1, False)

        def new_pin(pin: Pin) -> Pin:
            # A line placed before keeps its number, so that a contradiction is said and nothing lost.
            bar = pin.bar or 0
            return replace(pin, bar=bar + self.by if bar >= old else bar)

        return valid(with_pins(renumbered(document, new_line, new_pin), (self.pin,)))


@dataclass(frozen=True, slots=True)
class CountFrom:
    """Shift all bar numbers. A pickup is no longer one then: it belongs to the bar before bar 1 alone.

    Parameters
    ----------
    by : int
        How much more every bar counts.
    """

    by: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"All bar numbers {abs(self.by)} {'higher' if self.by >= 0 else 'lower'}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; MetreError where a number is out of bounds."""
        counted = renumbered(document, lambda bar: (bar + self.by, True))
        pickup = counted.metre.pickup if self.by == 0 else Fraction(0)
        return valid(replace(counted, metre=Metre(counted.metre.changes, pickup)))


def _as_beat(pin: Pin, bar: int, place: Fraction, signature: TimeSignature) -> Pin | None:
    """The pin as the beat at a place in a bar, in quarters; None where there is no such beat."""
    beats = signature.beat_quarters
    return replace(pin, bar=bar, beat=beats.index(place) + 1) if place in beats else None
