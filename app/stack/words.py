"""A row of the bar stack in words, for tool tips and screen readers."""

from __future__ import annotations

import math

from app.stack.scene import Stack
from app.timeline.words import line_words, moment


def row_words(stack: Stack, bar: int) -> str:
    """Say what bar this is and how far its onsets are off its beats; empty if there is no such bar."""
    rows, row = stack.rows, stack.rows.row_of(bar)
    if row is None:
        return ""
    signature = stack.grid.metre.at(bar)
    first, last = int(rows.first_line[row]), int(rows.first_line[row + 1])
    line = stack.grid.beats[int(rows.line[first])]
    if line.beat == 1:
        parts = [line_words(stack.lines, (bar, 1))]
    else:
        parts = [f"Bar {bar}, begins on beat {line.beat}, {moment(line.time)}"]
    parts.append(signature.full)
    beats = last - first - (row < len(rows) - 1)
    deviation, spread, silent = float(rows.deviation[row]), float(rows.spread[row]), int(rows.silent[row])
    if not math.isnan(deviation):
        late = round(1000 * deviation)
        parts.append(f"onsets {abs(late)} ms {'late' if late > 0 else 'early'}" if late else "onsets on the beat")
    if not math.isnan(spread):
        parts.append(f"spread {round(1000 * spread)} ms")
    if silent:
        parts.append(f"{silent} of {beats} beats without an onset")
    return ", ".join(parts)
