"""What the tapping bar says: what to do, what was tapped, and how it was tapped."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from core.tap_bias import Habit
from core.tapped import Tapped

KINDS: tuple[tuple[str, int | None], ...] = (
    ("every bar line", 1),
    ("every second bar", 2),
    ("every beat", 0),
    ("as I like (guess)", None),
)
"""What can be tapped, in words, and as `TapPass.every` has it; None is to be guessed."""

LOOKS = {0: "beats", 1: "bar lines", 2: "every second bar"}
EVEN = 0.003
"""A bias of fewer seconds is none."""


def counted(number: int, what: str) -> str:
    """A number of things."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def habit_words(habit: Habit) -> str:
    """How somebody taps."""
    late = round(1000 * abs(habit.bias))
    when = "on time" if abs(habit.bias) < EVEN else f"{late} ms {'late' if habit.bias > 0 else 'early'}"
    return f"{when}, give or take {1000 * habit.spread:.0f} ms"


def running_words(taps: Sequence[float]) -> str:
    """What has come in while a pass runs."""
    if len(taps) < 4:
        return counted(len(taps), "tap") if taps else "Listening for taps"
    gaps = sorted(b - a for a, b in pairwise(taps[-9:]))
    return f"{counted(len(taps), 'tap')}, about {60 / gaps[len(gaps) // 2]:.0f} a minute"


def read_words(read: Tapped, taps: int) -> tuple[str, str]:
    """What was read from taps, and how they were tapped."""
    bars = [line for line in read.lines if line.beat == 1]
    doubtful = sum(line.doubtful for line in bars)
    between = sum(not line.tapped for line in bars)
    parts = [f"{counted(len(bars), 'bar line')} from {counted(taps, 'tap')}"]
    if between:
        parts.append(f"{between} between taps")
    if doubtful:
        parts.append(f"{doubtful} doubtful")
    if len(read.habits) > 1:
        parts.append(f"{len(read.habits)} passes together")
    habit = read.habits[-1] if read.habits else None
    return ", ".join(parts) + ".", "" if habit is None else f"You tapped {habit_words(habit)}; that is taken out."
