"""From the words on the command line to values of ``core``."""

from __future__ import annotations

import math
from fractions import Fraction

from core.document import Section
from core.errors import InputError, MetreError
from core.metre import Metre, TimeSignature
from core.session import LeadIn


def metre(text: str, pickup: Fraction) -> Metre:
    """Read ``"4/4"`` or, with changes, ``"4/4,17:3/4,33:2+2+3/8"``.

    Raises
    ------
    MetreError
        If a part is no time signature, or a bar number is missing, no number or out of order.
    """
    changes: list[tuple[int, TimeSignature]] = []
    for part in text.split(","):
        bar, colon, signature = part.rpartition(":")
        if not colon and changes:
            raise MetreError(f'"{part}" needs the bar it starts at: write it like 17:{part.strip() or "3/4"}.')
        try:
            number = int(bar) if colon else 1
        except ValueError:
            raise MetreError(f'"{bar}" is no bar number: write a change of metre like 17:3/4.') from None
        changes.append((number, TimeSignature.parse(signature)))
    return Metre(tuple(changes), pickup)


def quarters(text: str) -> Fraction:
    """Read a length in quarter notes: ``"1"``, ``"1/2"`` or ``"0.5"``."""
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        raise InputError(f'"{text}" is no length in quarter notes: write it like 1, 1/2 or 0.5.') from None


def tolerance(text: str) -> float:
    """Read a tolerance in milliseconds; returned in seconds."""
    try:
        milliseconds = float(text)
    except ValueError:
        milliseconds = math.nan
    if not 0 < milliseconds < math.inf:
        raise InputError(f'"{text}" is no tolerance: give milliseconds above 0, such as 10.')
    return milliseconds / 1000


def number(text: str, what: str, such_as: str) -> float:
    """Read a number; `what` it is goes into the sentence that refuses anything else."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'"{text}" is no {what}: give a number such as {such_as}.')
    return value


def lead_in(text: str) -> LeadIn:
    """Read the lead-in: ``"fill"``, ``"none"`` or a number of bars."""
    if text == "fill":
        return "fill"
    if text == "none":
        return "none"
    if text.isascii() and text.isdigit():
        return int(text)
    raise InputError(f'"{text}" is no lead-in: give fill, none or a number of bars.')


def section(text: str) -> Section:
    """Read the bar a section starts at and its name: ``"17:Second theme"``."""
    bar, colon, name = text.partition(":")
    try:
        number = int(bar)
    except ValueError:
        colon = ""
    if not (colon and name.strip()):
        raise InputError(f'"{text}" names no section: write it like "17:Second theme".')
    return Section(number, name.strip())
