"""Bars and moments of the timeline in words: for labels, tool tips and screen readers."""

from __future__ import annotations

from app.state import Place
from app.timeline.lines import Lines


def moment(seconds: float) -> str:
    """Say a moment as minutes, seconds and milliseconds: ``0:33.214``."""
    thousandths = max(round(1000 * seconds), 0)
    minutes, rest = divmod(thousandths, 60_000)
    return f"{minutes}:{rest // 1000:02d}.{rest % 1000:03d}"


def tempo_unit(lines: Lines) -> str:
    """Say what is counted a minute."""
    return "quarters a minute" if lines.tempo_unit == 1.0 else "beats a minute"


def line_words(lines: Lines, place: Place) -> str:
    """Say what a line is, when, and how fast its bar goes; empty if there is no such line."""
    line = lines.line(place)
    if line is None:
        return ""
    name = f"Bar {place[0]}" if place[1] == 1 else f"Bar {place[0]} beat {place[1]}"
    kind = "placed" if line.placed else "doubtful" if line.doubtful else "suggested"
    words = [name, kind, moment(line.time)]
    at = lines.bar_at(line.time)
    if place[1] == 1 and at is not None:
        words.append(f"{lines.tempo[at]:.0f} a minute")
    return ", ".join(words)


def selection_words(lines: Lines, selection: frozenset[Place], at: Place | None) -> str:
    """Say what is selected, and which of it the keys act on."""
    there = sorted(place for place in selection if lines.index(place) is not None)
    if not there:
        return "Nothing selected"
    one = line_words(lines, at if at in there else there[0])
    return one if len(there) == 1 else f"{len(there)} lines selected, {there[0][0]} to {there[-1][0]}; {one}"
