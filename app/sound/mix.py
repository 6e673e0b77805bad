"""How loud the take and the click are, and where."""

from __future__ import annotations

from dataclasses import dataclass

QUIETEST = -60.0
"""Decibels at which nothing is heard any more."""

TAKE, CLICK = -12.0, -18.0
"""Decibels at first. Both are low: headphones may be on."""


def gain(decibels: float) -> float:
    """Factor of a level; 0 at `QUIETEST` and below."""
    return float(10.0 ** (decibels / 20.0)) if decibels > QUIETEST else 0.0


@dataclass(frozen=True, slots=True)
class Mix:
    """Levels of what is played.

    Parameters
    ----------
    take : float
        Decibels below full scale; `QUIETEST` for silence.
    click : float
        Decibels on the same scale: where both are alike, a click is as loud as the take mostly is.
    clicking : bool
        Whether there is a click.
    apart : bool
        Whether the take is on the left alone and the click on the right.
    pitch : float
        Hertz of a click on a beat.
    """

    take: float = TAKE
    click: float = CLICK
    clicking: bool = True
    apart: bool = False
    pitch: float = 1000.0
