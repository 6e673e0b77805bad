"""How sections look: a colour and a pattern each, the same for sections that are the same music.

Colours alone would fail whoever does not see them, so no two looks share both. The fills are light tints of the
hues of Okabe and Ito, "Color Universal Design" (2008), which every kind of colour vision can tell apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal, Protocol

Pattern = Literal["plain", "slanted", "dotted", "upright"]

FILLS = ("#d9e8f2", "#f5e3c3", "#d3ebe1", "#f1dbe7", "#ece9c4", "#e3ddd2")
"""Fills on light ground, in turn; dark text stands out on all of them."""

PATTERNS: tuple[Pattern, ...] = ("plain", "slanted", "dotted", "upright")
"""Patterns, in turn."""

LOOKS = 12
"""Looks in all: after so many both turns begin again together."""

_COUNTED = re.compile(r"(.*?[^\W\d_].*?)[\s.'\u2019-]*\d*['\u2019]*", re.DOTALL)


class Named(Protocol):
    """What has a name, and perhaps a look that was chosen for it."""

    @property
    def name(self) -> str:
        """What it is called."""

    @property
    def look(self) -> int | None:
        """Number of the look; None for the one that goes with its name."""


def looks_of(sections: Iterable[Named]) -> tuple[int, ...]:
    """Number of the look of each section, in order.

    Sections whose names differ in nothing but a number or primes behind them (``A``, ``A2``, ``A'``) look alike,
    unless another look was chosen for one of them.
    """
    seen: dict[str, int] = {}
    usual = [(section.look, seen.setdefault(root_of(section.name), len(seen))) for section in sections]
    return tuple((number if chosen is None else chosen) % LOOKS for chosen, number in usual)


def root_of(name: str) -> str:
    """What sections that are the same music share: a name without the number behind it, in small letters."""
    return stem_of(name).casefold()


def stem_of(name: str) -> str:
    """A section's name without the number behind it."""
    match = _COUNTED.fullmatch(name.strip())
    return match.group(1) if match else name.strip()
