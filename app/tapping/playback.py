"""What tapping needs of the player and of the strip that plays it."""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import SignalInstance

from core.checks import Floats


class Playback(Protocol):
    """Plays, and knows what was heard when: `app.sound.player.Player`, or a clock of a test."""

    playing_changed: SignalInstance

    @property
    def playing(self) -> bool:
        """Whether the take is being played."""

    @property
    def silent(self) -> str:
        """Why nothing can be heard, in a sentence; empty while it can."""

    def stop(self) -> None:
        """Stop; `playing_changed` follows."""

    def take_time(self, moment: float) -> float | None:
        """Take time that was heard at a moment of the monotonic clock, None where nothing was."""


class Strip(Protocol):
    """Starts the player as its own choices say: `app.listening.Listening`."""

    def play_from(self, start: float, end: float | None = None) -> None:
        """Play from a moment of the take on."""

    def play_clicks(self, times: Floats) -> None:
        """Play clicks alone, at these seconds; the player's clock then counts from their start."""

    def lend_space(self, lent: bool) -> None:
        """Leave Space to the taps, or take it back."""
