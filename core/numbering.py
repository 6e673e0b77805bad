"""What hangs on the numbers of bars: counting all of a document anew at once, and whether a document can be.

Pins, changes of metre, holds, free bars and sections all name bars. When a bar line more or less is counted, every
one of them has to follow, or a placed line would end up as another bar's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import inf, log

from core.document import Document, Section, TapPass
from core.errors import InputError, MetreError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.pins import checked
from core.repairs import check_repairs
from core.section_looks import LOOKS

LOWEST, HIGHEST = -9_999, 99_999
"""Bar numbers that can be; a take of a day has fewer bars."""

QUARTERS = (log(0.02), log(60.0))
"""Log seconds a quarter can last, from the least to the most."""

SLOWEST, FASTEST = 0.05, 20.0
"""Times its own speed at which a take can be played while somebody taps."""

LONGEST_NAME = 120
"""Characters the name of a section can have."""

NewLine = Callable[[int], tuple[int, bool]]
"""From the old number of a bar to the new number of the bar in which it begins, and whether it still begins with
a bar line."""


@dataclass(frozen=True, slots=True)
class Course:
    """The metre of a document with its free bars taken apart, so that each can change without the other.

    Parameters
    ----------
    opening : TimeSignature
        From the start on.
    changes : mapping of int to TimeSignature
        Bar from which another one holds.
    free : mapping of int to TimeSignature
        The signature that each free bar has for itself.
    pickup : Fraction
        Quarters.
    """

    opening: TimeSignature
    changes: Mapping[int, TimeSignature]
    free: Mapping[int, TimeSignature]
    pickup: Fraction

    @property
    def pulse(self) -> Metre:
        """The metre as if no bar were free: a free bar has that of the music before it.

        Written in one way only: no change to what holds already, and the first signature from bar 1, which
        means from the start, unless another one comes as early.
        """
        kept: list[tuple[int, TimeSignature]] = []
        before = self.opening
        for bar in sorted(self.changes):
            if self.changes[bar] != before:
                before = self.changes[bar]
                kept.append((bar, before))
        start = min(1, kept[0][0] - 1) if kept else 1
        return Metre(((start, self.opening), *kept), self.pickup)

    @property
    def metre(self) -> Metre:
        """The metre with the free bars in it."""
        pulse = self.pulse
        changes = {**self.changes}
        for bar in self.free:
            changes[bar + 1] = pulse.at(bar + 1)
        return replace(self, changes={**changes, **self.free}).pulse


def course_of(document: Document) -> Course:
    """Take the metre of a document apart."""
    metre, free = document.metre, set(document.free)
    # After a free bar that is written like the music after it, that music has no change of its own to be read.
    after = {bar + 1: metre.at(bar + 1) for bar in free if bar + 1 not in free}
    own = sorted(({bar: s for bar, s in metre.changes if bar not in free} | after).items()) or [metre.changes[0]]
    # Where a free bar ends in the metre it began in, nothing changes.
    changes = {bar: signature for (_, before), (bar, signature) in pairwise(own) if signature != before}
    return Course(own[0][1], changes, {bar: metre.at(bar) for bar in document.free}, metre.pickup)


def renumbered(
    document: Document, new_line: NewLine, new_pin: Callable[[Pin], Pin | None] | None = None
) -> Document:
    """Count all of a document anew.

    A change of metre whose bar line is gone holds from the next one on. A section whose bar line is gone begins
    with the bar that holds that moment; two that then begin together become one with both names. A hold goes to
    every bar that shares its music. The document is not checked yet.

    Parameters
    ----------
    new_line : callable
        What becomes of each bar line.
    new_pin : callable, optional
        What becomes of each numbered pin, None where it is let go; without it a pin keeps its beat where its bar
        is still one bar, and is let go where it is not.

    Raises
    ------
    InputError
        If a free bar would be divided or joined with another.
    """
    course = course_of(document)

    def after(bar: int) -> int:
        number, exact = new_line(bar)
        return number if exact else number + 1

    def bars(bar: int) -> range:
        number, _ = new_line(bar)
        return range(number, max(after(bar + 1), number + 1))

    def whole(bar: int) -> bool:
        """Whether a bar is still just one, with both its lines."""
        (number, exact), following = new_line(bar), new_line(bar + 1)
        return exact and following == (number + 1, True)

    def same_beat(pin: Pin) -> Pin | None:
        number, exact = new_line(pin.bar or 0)
        keeps = exact and (pin.beat == 1 or whole(pin.bar or 0))
        return replace(pin, bar=number) if keeps else None

    free: dict[int, TimeSignature] = {}
    for bar, signature in course.free.items():
        if not whole(bar):
            raise InputError(f"Bar {bar} has no pulse and cannot be divided or joined: give it a pulse first.")
        free[new_line(bar)[0]] = signature
    course = replace(course, changes={after(bar): s for bar, s in sorted(course.changes.items())}, free=free)
    moved = (pin if pin.bar is None else (new_pin or same_beat)(pin) for pin in document.pins)
    return replace(
        document,
        metre=course.metre,
        pins=tuple(pin for pin in moved if pin is not None),
        holds=tuple(sorted({new for bar in document.holds for new in bars(bar)} - set(free))),
        free=tuple(sorted(free)),
        sections=joined(replace(section, bar=new_line(section.bar)[0]) for section in document.sections),
        taps=tuple(replace(one, bar=new_line(one.bar)[0]) for one in document.taps),
    )


def joined(sections: Iterable[Section]) -> tuple[Section, ...]:
    """Sections in order of bars, those that begin together as one with their names one after the other."""
    by_bar: dict[int, list[Section]] = {}
    for section in sections:
        by_bar.setdefault(section.bar, []).append(section)
    return tuple(
        replace(by_bar[bar][0], name=" / ".join(section.name for section in by_bar[bar])[:LONGEST_NAME])
        for bar in sorted(by_bar)
    )


def with_pins(document: Document, pins: Iterable[Pin]) -> Document:
    """Set further pins where nothing is placed yet; what is placed stays. The document is not checked yet."""
    placed = document.placed
    new = {(pin.bar, pin.beat): pin for pin in pins if (pin.bar, pin.beat) not in placed}
    return replace(document, pins=tuple(sorted((*document.pins, *new.values()), key=_time)))


def without(document: Document, drop: Callable[[Pin], bool]) -> Document:
    """Let go of some of the pins."""
    return replace(document, pins=tuple(pin for pin in document.pins if not drop(pin)))


def valid(document: Document) -> Document:
    """Return the document with its pins in order of time, if it can be.

    Raises
    ------
    PinError
        If the placed lines contradict each other or the metre.
    MetreError
        If a bar number is out of all bounds.
    InputError
        If a free bar has lost one of its ends or got a beat, or bars are not in order.
    """
    numbers = [pin.bar for pin in document.pins if pin.bar is not None]
    numbers += [bar for bar, _ in document.metre.changes]
    numbers += [*document.holds, *document.free, *(section.bar for section in document.sections)]
    numbers += [one.bar for one in document.taps]
    outside = [bar for bar in numbers if not LOWEST <= bar <= HIGHEST]
    if outside:
        raise MetreError(f"Bar {outside[0]} cannot be counted: bars are numbered from {LOWEST} to {HIGHEST}.")
    for what, bars in (
        ("Held bars", document.holds),
        ("Bars without a pulse", document.free),
        ("Sections", tuple(section.bar for section in document.sections)),
    ):
        if any(after <= before for before, after in pairwise(bars)):
            raise InputError(f"{what} must be given in order, each once.")
    for section in document.sections:
        if section.look is not None and not 0 <= section.look < LOOKS:
            raise InputError(f"There is no look {section.look} for a section; choose 0 to {LOOKS - 1}.")
    if document.opening is not None and not QUARTERS[0] <= document.opening <= QUARTERS[1]:
        raise InputError(f"An opening tempo of {document.opening:g} log seconds a quarter is no tempo.")
    for one in document.taps:
        _check_taps(one)
    check_repairs(document.repairs)
    document = replace(document, pins=checked(sorted(document.pins, key=_time), document.metre, inf))
    placed = document.placed
    for bar in document.free:
        if not {(bar, 1), (bar + 1, 1)} <= placed:
            raise InputError(f"Bar {bar} has no pulse and keeps both its ends: give it a pulse first.")
    inside = [bar for bar, beat in placed if beat > 1 and bar in document.free]
    if inside:
        raise InputError(f"Bar {min(inside)} has no pulse, so no beat can be placed in it.")
    return document


def _check_taps(taps: TapPass) -> None:
    if not taps.times or any(not 0 <= a < b for a, b in pairwise((*taps.times, inf))):
        raise InputError("The taps of a pass must be at least one, each later than the one before.")
    if taps.every < 0 or taps.beat < 1 or (taps.every and taps.beat > 1):
        raise InputError("Taps mean every beat, or the bar line every 1, 2, ... bars.")
    if not SLOWEST <= taps.speed <= FASTEST:
        raise InputError(f"Taps cannot have come at {taps.speed:g} times the speed of the take.")


def in_order(first: int, last: int | None) -> None:
    """Refuse a range whose last bar is before its first."""
    if last is not None and last < first:
        raise InputError(f"Bars {first} to {last} are no range: give the lower number first.")


def _time(pin: Pin) -> float:
    return pin.time
