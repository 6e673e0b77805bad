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


def signed(number: float, decimals: int = 0) -> str:
    """A figure with its sign, a true minus; zero has none: ``+12``, ``\u221212.5``."""
    words = f"{number:+.{decimals}f}"
    return words[1:] if not float(words) else words.replace("-", "\N{MINUS SIGN}")


def offset(seconds: float) -> str:
    """How far something is from where it was, to the millisecond: ``+12 ms``."""
    return f"{signed(1000 * seconds)} ms"
