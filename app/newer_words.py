"""What to say of a project that a newer version has saved."""

from __future__ import annotations

from collections.abc import Sequence

from core.project import Newer

_NAMED = 4


def newer_words(name: str, newer: Newer) -> str:
    """Say that it is of a newer version, and what of it is not shown."""
    without = f", shown without {named(newer.left_out)}" if newer.left_out else ""
    return f"{name} was saved by a newer Barwright{without}: it can only be saved under another name."


def lost_words(newer: Newer) -> str:
    """Say what is lost when it is saved under another name."""
    lost = named(newer.left_out) if newer.left_out else "nothing"
    return f"Saved under another name by this one, the work loses {lost}."


def named(things: Sequence[str]) -> str:
    """Name things, the first few of many."""
    few, rest = list(things[:_NAMED]), len(things) - _NAMED
    if rest > 0:
        few.append(f"{rest} more")
    return " and ".join(filter(None, (", ".join(few[:-1]), few[-1])))
