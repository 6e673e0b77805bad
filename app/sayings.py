"""Figures in words: times, confidences and tempi as the window writes them, everywhere the same."""

from __future__ import annotations

from core.grid import DOUBTFUL, Beat


def clock(seconds: float) -> str:
    """Minutes and seconds, or hours with them: ``10:03``."""
    whole = round(seconds)
    hours, minutes = whole // 3600, whole // 60 % 60
    return f"{hours}:{minutes:02}:{whole % 60:02}" if hours else f"{minutes}:{whole % 60:02}"


def sureness(line: Beat) -> str:
    """How sure a line is, in words."""
    if line.placed:
        return "placed by you"
    if line.confidence < DOUBTFUL / 2:
        return "a guess"
    if line.confidence < DOUBTFUL:
        return "doubtful"
    return "fairly sure" if line.confidence < 0.8 else "sure"
