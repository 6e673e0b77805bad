"""What the window asks of the process that plays, and what that says."""

from __future__ import annotations

from dataclasses import dataclass

from app.sound.clicks import Clicks, CountIn
from app.sound.mix import Mix
from core.passages import Passages
from core.take import Take


@dataclass(frozen=True, slots=True)
class Load:
    """The take that is played from now on; None for none.

    Parameters
    ----------
    take : Take or None
        The recording.
    passages : Passages or None
        What is heard of an audio take; None for all of it.
    """

    take: Take | None
    passages: Passages | None = None


@dataclass(frozen=True, slots=True)
class Play:
    """Play stretches of the take.

    Parameters
    ----------
    number : int
        Of this playing; all that is said of it carries it.
    stretches : tuple of (float, float)
        Seconds of take time.
    speed : float
    loop : bool
    count_in : CountIn or None
    device : str
        Name of the output; empty for the usual one.
    bare : Clicks or None
        Clicks alone, without the take.
    enter : float
        Seconds, as played, by which the first time through begins later.
    """

    number: int
    stretches: tuple[tuple[float, float], ...]
    speed: float
    loop: bool
    count_in: CountIn | None
    device: str
    bare: Clicks | None = None
    enter: float = 0.0


@dataclass(frozen=True, slots=True)
class Stop:
    """Fade out."""


@dataclass(frozen=True, slots=True)
class SetClicks:
    """The grid has these clicks now."""

    clicks: Clicks


@dataclass(frozen=True, slots=True)
class SetMix:
    """Levels from now on."""

    mix: Mix


@dataclass(frozen=True, slots=True)
class Look:
    """Say which devices there are."""


Order = Load | Play | Stop | SetClicks | SetMix | Look


@dataclass(frozen=True, slots=True)
class Devices:
    """Names of all outputs, the usual one first; or why there are none."""

    names: tuple[str, ...]
    why: str = ""


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where a playing is on the common clock.

    Parameters
    ----------
    number : int
        Of the playing.
    rate : int
        Frames a second.
    frame : float
        Frame of its course.
    moment : float
        When that is heard.
    left, right : float
        Peaks of what is heard now.
    missed : int
        Frames the card wanted in this playing that were not there.
    """

    number: int
    rate: int
    frame: float
    moment: float
    left: float = 0.0
    right: float = 0.0
    missed: int = 0


@dataclass(frozen=True, slots=True)
class Waiting:
    """A playing has not begun to be heard: the card is warming up, or the take is still being decoded."""

    number: int


@dataclass(frozen=True, slots=True)
class Ended:
    """The last frame of a playing has been heard."""

    number: int


@dataclass(frozen=True, slots=True)
class Failed:
    """A playing cannot be heard, or no longer; in a sentence."""

    number: int
    sentence: str


News = Devices | Anchor | Waiting | Ended | Failed
