"""Pure converters between musical and physical units; everything else in ``core`` counts seconds and quarters.

Source of the Standard MIDI File quantities: MIDI 1.0, RP-001 "Standard MIDI Files 1.0".
"""

from __future__ import annotations

MICROSECONDS = 1_000_000
"""Microseconds in a second."""

MAX_TEMPO_US = 0xFFFFFF
"""Longest quarter note a 24-bit tempo event can say, in microseconds."""


def quarters_per_minute(us_per_quarter: float) -> float:
    """Tempo in quarter notes a minute from the microseconds one quarter lasts."""
    return 60.0 * MICROSECONDS / us_per_quarter


def us_per_quarter(quarters_per_minute: float) -> float:
    """Microseconds one quarter lasts at a tempo in quarter notes a minute (not rounded)."""
    return 60.0 * MICROSECONDS / quarters_per_minute


def clock(seconds: float, decimals: int = 3) -> str:
    """Minutes and seconds, as a musician reads a place in a take: ``0:33.214``."""
    # Rounded before it is divided, or 59.9996 s would become 0:60.000.
    minutes, rest = divmod(round(seconds * 10**decimals), 60 * 10**decimals)
    width = decimals + 3 if decimals else 2
    return f"{minutes}:{rest / 10**decimals:0{width}.{decimals}f}"
