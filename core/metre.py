"""Time signatures and where they change, the pickup, and how a bar divides into beats."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise

from core.errors import MetreError


@dataclass(frozen=True, slots=True, order=True)
class TimeSignature:
    """A time signature and the grouping of its beats.

    Parameters
    ----------
    numerator : int
        Upper figure, 1 to 255 (one byte in a Standard MIDI File).
    denominator : int
        Lower figure, a power of two from 1 to 64.
    groups : tuple of int
        Length of each beat in denominator notes, summing to `numerator`. Left empty, a compound
        metre (numerator 6, 9, 12, ... over 4 or more) beats in threes and any other in ones.

    Raises
    ------
    MetreError
        If the figures are no time signature or the groups do not add up.
    """

    numerator: int
    denominator: int
    groups: tuple[int, ...] = field(default=())

    def __post_init__(self) -> None:
        n, d = self.numerator, self.denominator
        if not 1 <= n <= 255:
            raise MetreError(f"{n}/{d} is no time signature: the upper figure must be 1 to 255.")
        if d not in (1, 2, 4, 8, 16, 32, 64):
            raise MetreError(f"{n}/{d} is no time signature: the lower figure must be 1, 2, 4, 8, 16, 32 or 64.")
        if not self.groups:
            compound = n % 3 == 0 and n > 3 and d >= 4
            object.__setattr__(self, "groups", (3,) * (n // 3) if compound else (1,) * n)
        if any(g < 1 for g in self.groups) or sum(self.groups) != n:
            grouping = "+".join(map(str, self.groups))
            raise MetreError(f"The beats {grouping} of {n}/{d} add up to {sum(self.groups)}, not {n}.")

    @classmethod
    def parse(cls, text: str) -> TimeSignature:
        """Read ``"4/4"``, ``"6/8"`` or, with its grouping, ``"2+2+3/8"``.

        Raises
        ------
        MetreError
            If the text is no time signature.
        """
        upper, slash, lower = text.strip().partition("/")
        try:
            groups = tuple(int(part) for part in upper.split("+"))
            denominator = int(lower)
        except ValueError:
            slash = ""
        if not slash:
            raise MetreError(f'"{text}" is no time signature: write it like 4/4, 6/8 or 2+2+3/8.')
        return cls(sum(groups), denominator, groups if len(groups) > 1 else ())

    def __str__(self) -> str:
        return f"{self.numerator}/{self.denominator}"

    @property
    def full(self) -> str:
        """The figures as `parse` reads them, with the grouping of the beats where it is not the usual one."""
        if self == TimeSignature(self.numerator, self.denominator):
            return str(self)
        return f"{'+'.join(map(str, self.groups))}/{self.denominator}"

    @property
    def quarters(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return Fraction(4 * self.numerator, self.denominator)

    @property
    def beats(self) -> int:
        """Number of beats in a bar."""
        return len(self.groups)

    @property
    def compound(self) -> bool:
        """Whether every beat divides in three."""
        return set(self.groups) == {3}

    @property
    def beat_quarters(self) -> tuple[Fraction, ...]:
        """Where each beat starts, in quarters from the bar line."""
        return _beat_quarters(self)


@lru_cache(maxsize=256)
def _beat_quarters(signature: TimeSignature) -> tuple[Fraction, ...]:
    starts = [Fraction(0)]
    for group in signature.groups[:-1]:
        starts.append(starts[-1] + Fraction(4 * group, signature.denominator))
    return tuple(starts)


@dataclass(frozen=True, slots=True)
class Metre:
    """Time signatures of a whole take.

    Bars are numbered as musicians do: the first whole bar is 1 and a pickup belongs to bar 0. Bars that
    were played before bar 1 without being a pickup count back 0, -1, -2, ... in the first signature.

    Parameters
    ----------
    changes : tuple of (int, TimeSignature)
        Bar number from which each signature holds, ascending; the first also holds before its bar.
    pickup : Fraction
        Length of the pickup (anacrusis) before bar 1 in quarters; 0 for none, less than a bar.

    Raises
    ------
    MetreError
        If there is no signature, bars are out of order, or the pickup is not shorter than a bar.
    """

    changes: tuple[tuple[int, TimeSignature], ...]
    pickup: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if not self.changes:
            raise MetreError("A metre needs at least one time signature.")
        bars = [bar for bar, _ in self.changes]
        for before, after in pairwise(bars):
            if after <= before:
                raise MetreError(
                    f"The metre changes at bar {after} after bar {before}: give bars in order, each once."
                )
        if not 0 <= self.pickup < self.changes[0][1].quarters:
            first = self.changes[0][1]
            raise MetreError(f"The pickup of {self.pickup} quarters must be shorter than a bar of {first}.")

    @classmethod
    def steady(cls, signature: TimeSignature, pickup: Fraction = Fraction(0)) -> Metre:
        """One signature throughout."""
        return cls(((1, signature),), pickup)

    def at(self, bar: int) -> TimeSignature:
        """Time signature in force in a bar."""
        if len(self.changes) == 1:
            return self.changes[0][1]
        i = bisect_right(self.changes, bar, key=lambda change: change[0])
        return self.changes[max(i - 1, 0)][1]

    def quarter_of(self, bar: int) -> Fraction:
        """Score position of a bar line, in quarters from bar line 1 (negative before it)."""
        return _quarter_of(self, bar)


@lru_cache(maxsize=16384)
def _quarter_of(metre: Metre, bar: int) -> Fraction:
    return Fraction(positions(metre)(bar))


@lru_cache(maxsize=64)
def positions(metre: Metre) -> Callable[[int], float]:
    """Score position of any bar line, in quarters from bar line 1, for whoever needs those of many.

    Each change is counted once, however many bar lines are asked for: a metre that changes at every bar must not
    cost its own length again at each of them. The positions are exact, as a bar is a number of 64ths.
    """
    starts = [bar for bar, _ in metre.changes]
    lengths = [float(signature.quarters) for _, signature in metre.changes]
    spans = ((after - before) * length for before, after, length in zip(starts, starts[1:], lengths, strict=False))
    begins = list(accumulate(spans, initial=0.0))

    def from_first(bar: int) -> float:
        i = max(bisect_right(starts, bar) - 1, 0)
        return begins[i] + (bar - starts[i]) * lengths[i]

    zero = from_first(1)
    return lambda bar: from_first(bar) - zero
