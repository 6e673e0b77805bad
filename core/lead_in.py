"""The bars a session has before the first bar line of a take, at a tempo that a sequencer accepts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from core.metre import TimeSignature

SANE = (20, 400)
"""Slowest and fastest tempo in quarters a minute that sequencers commonly accept (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Lead:
    """What lies before the first beat of a grid.

    Parameters
    ----------
    bars : tuple of TimeSignature
        The bars before the first bar line, a pickup's among them.
    quarters, seconds
        From the start of the session to the grid's first beat (a pickup's first beat where there is one).
    """

    bars: tuple[TimeSignature, ...]
    quarters: Fraction
    seconds: float


def pickup_only(signature: TimeSignature, pickup: Fraction) -> Lead:
    """Nothing before the first beat: a pickup becomes a bar of its own length."""
    return Lead((_bar_of(pickup, signature.denominator),) if pickup else (), Fraction(0), 0.0)


def asked_lead(signature: TimeSignature, pickup: Fraction, bars: int, tempo: float) -> Lead:
    """Give so many bars before the first bar line at a tempo; a pickup lies in the last of them."""
    quarters = bars * signature.quarters - pickup
    return Lead((signature,) * bars, quarters, 60 * float(quarters) / tempo)


def filling_lead(signature: TimeSignature, pickup: Fraction, seconds: float, tempo: float) -> Lead | None:
    """Fill the time before the first beat with bars whose tempo is near the given one.

    Whole bars come first, in the number whose tempo is nearest by ratio. Where even that is more than twice or
    less than half the tempo, one short bar of whole notes of the lower figure (then of halves of them, ...) does
    better. A pickup is written as one with a short bar of the same notes.

    Parameters
    ----------
    signature : TimeSignature
        Of the whole bars.
    pickup : Fraction
        Quarters from the first beat to the first bar line; 0 where the first beat is the bar line.
    seconds : float
        Time to fill, above 0.
    tempo : float
        Quarters a minute to come near to.

    Returns
    -------
    Lead or None
        None where no bar of at least a sixty-fourth stays within the tempi of `SANE`.
    """
    wanted = seconds * tempo / 60
    rest = signature.quarters - pickup if pickup else Fraction(0)
    options: list[tuple[int, Lead]] = []
    for count in _around((wanted - float(rest)) / float(signature.quarters), least=0 if pickup else 1):
        bars = (signature,) * (count + (1 if pickup else 0))
        options.append((0, Lead(bars, rest + count * signature.quarters, seconds)))
    denominator = signature.denominator
    while denominator <= 64:
        unit = Fraction(4, denominator)
        for count in _around(wanted / float(unit), least=1):
            if count <= 255 and count * unit + pickup < signature.quarters:
                whole = denominator == signature.denominator
                lengths = (count * unit + pickup,) if whole or not pickup else (count * unit, pickup)
                short = tuple(_bar_of(length, signature.denominator) for length in lengths)
                options.append((denominator, Lead(short, count * unit, seconds)))
        denominator *= 2

    def rank(option: tuple[int, Lead]) -> tuple[bool, int, float]:
        away = abs(math.log2(60 * float(option[1].quarters) / seconds / tempo))
        return away > 1, option[0], away

    sane = [option for option in options if SANE[0] <= 60 * float(option[1].quarters) / seconds <= SANE[1]]
    return min(sane, key=rank)[1] if sane else None


def _around(number: float, *, least: int) -> tuple[int, int]:
    """Whole numbers on both sides."""
    return max(math.floor(number), least), max(math.ceil(number), least)


def _bar_of(quarters: Fraction, denominator: int) -> TimeSignature:
    """Find the time signature of a bar of that length with the smallest lower figure from a given one."""
    while (count := quarters * denominator / 4).denominator != 1:
        denominator *= 2
    return TimeSignature(int(count), denominator)
