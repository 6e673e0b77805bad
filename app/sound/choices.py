"""What the musician has chosen about playing."""

from __future__ import annotations

from dataclasses import dataclass

from app.sound.clicks import BARS_ONLY
from app.sound.mix import CLICK, TAKE, Mix

SPEEDS = (100, 90, 80, 70, 60, 50)
"""Per cent."""

PARTS = {
    BARS_ONLY: "Click on bar lines only",
    1: "Click on beats",
    2: "Click on halves of beats",
    3: "Click on thirds of beats",
    4: "Click on quarters of beats",
}
"""Where clicks are, and in words."""

COUNTED = {0: "No count-in", 1: "Count in one bar", 2: "Count in two bars"}

PITCHES = {700: "Low click", 1000: "Middle click", 1600: "High click"}
"""Hertz of a click on a beat, and in words."""


@dataclass(frozen=True, slots=True)
class SoundChoices:
    """How takes are played.

    Parameters
    ----------
    speed : int
        Per cent; one of `SPEEDS`.
    loop : bool
        Whether what is played begins anew at its end.
    follow : bool
        Whether the timeline goes along with the playhead.
    clicking : bool
        Whether there is a click.
    parts, counted, pitch : int
        Keys of `PARTS`, `COUNTED` and `PITCHES`.
    apart : bool
        Whether the take is on the left and the click on the right.
    take, click : int
        Decibels; see `app.sound.mix.Mix`.
    """

    speed: int = 100
    loop: bool = False
    follow: bool = True
    clicking: bool = True
    parts: int = 1
    counted: int = 0
    pitch: int = 1000
    apart: bool = False
    take: int = int(TAKE)
    click: int = int(CLICK)

    @property
    def mix(self) -> Mix:
        """Levels as chosen."""
        return Mix(float(self.take), float(self.click), self.clicking, self.apart, float(self.pitch))

    def at_first(self) -> SoundChoices:
        """As the day begins: at full speed, once, and no louder than the first day; headphones may be on."""
        return SoundChoices(
            follow=self.follow,
            clicking=self.clicking,
            parts=self.parts if self.parts in PARTS else 1,
            counted=self.counted if self.counted in COUNTED else 0,
            pitch=self.pitch if self.pitch in PITCHES else 1000,
            apart=self.apart,
            take=min(self.take, int(TAKE)),
            click=min(self.click, int(CLICK)),
        )
