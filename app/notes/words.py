"""Notes in words."""

from __future__ import annotations

NAMES = ("C", "C sharp", "D", "E flat", "E", "F", "F sharp", "G", "A flat", "A", "B flat", "B")


def pitch_name(pitch: int) -> str:
    """Name of a MIDI note number; middle C (60) is C4 in scientific pitch notation."""
    return f"{NAMES[pitch % 12]}{' ' if len(NAMES[pitch % 12]) > 1 else ''}{pitch // 12 - 1}"
