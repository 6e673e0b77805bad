"""Answers in words for a musician, or as one JSON object for a script."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from core.describe import Description
from core.grid import Grid
from core.metre import Metre
from core.planned import Plan, Written
from core.proposal import Proposal
from core.section_rows import SectionRow
from core.units import clock

_NAMED = 20
"""Bars named one by one before the rest is only counted."""


def tell(given: Namespace, facts: dict[str, Any], words: Iterable[str]) -> None:
    """Print the one or the other; words only where they are wanted."""
    if given.json:
        print(json.dumps(facts, indent=2))
    elif not given.quiet:
        print(*words, sep="\n")


def milliseconds(seconds: float) -> float:
    """Milliseconds for JSON, to the nanosecond."""
    return round(1000 * seconds, 6)


def in_ms(seconds: float) -> str:
    """Milliseconds for people, to the microsecond."""
    return f"{1000 * seconds:.3f} ms"


def count(number: int, one: str, many: str = "") -> str:
    """Say a number of things."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(bars: Sequence[int]) -> str:
    """Name bars, the first few of many."""
    rest = len(bars) - _NAMED
    named = ", ".join(map(str, bars[:_NAMED]))
    return f"{named} and {rest} more" if rest > 0 else named


def take_facts(take: Description) -> dict[str, Any]:
    """Tell what is in a take, for a script."""
    seconds = {"duration", "first_sound", "last_sound"}
    return {f"{name}_s" if name in seconds else name: value for name, value in asdict(take).items()}


def take_words(take: Description) -> str:
    """Tell what is in a take, for a musician."""
    minutes, seconds = divmod(round(take.duration), 60)
    length = f"{minutes}:{seconds:02d} long, sounding from {take.first_sound:.3f} s to {take.last_sound:.3f} s"
    if take.kind == "midi":
        return (
            f"MIDI, {length}; {count(take.notes, 'note')} from {take.lowest} to {take.highest}, "
            f"velocity {take.softest} to {take.loudest}; pedal pressed {count(take.pedal_presses, 'time')}."
        )
    return (
        f"audio ({take.format}), {length}; {take.rate} Hz, {count(take.channels, 'channel')}, "
        f"peak {take.peak_dbfs:.1f} dBFS."
    )


def bar_facts(grid: Grid, proposal: Proposal | None) -> dict[str, Any]:
    """Tell about the bars of a grid, for a script."""
    lines = grid.bar_lines
    return {
        "metre": metre_text(grid.metre),
        "pickup_quarters": str(grid.metre.pickup),
        "bars": len(lines),
        "first_bar": lines[0].bar,
        "first_bar_s": round(lines[0].time, 6),
        "last_bar": lines[-1].bar,
        "last_bar_s": round(lines[-1].time, 6),
        "placed": sum(line.placed for line in lines),
        "doubtful": _doubtful(grid),
        "beats_per_minute": round(_beats_a_minute(grid), 1),
        "proposed": None
        if proposal is None
        else {
            "metre_confidence": round(proposal.metre_confidence, 3),
            "tempo_confidence": round(proposal.tempo_confidence, 3),
        },
    }


def bar_words(grid: Grid, proposal: Proposal | None) -> list[str]:
    """Tell about the bars of a grid, for a musician."""
    lines = grid.bar_lines
    doubtful = _doubtful(grid)
    words = []
    if proposal is not None:
        words.append(
            f"Proposed: {metre_text(grid.metre)} ({proposal.metre_confidence:.0%} sure), "
            f"some {_beats_a_minute(grid):.0f} beats a minute ({proposal.tempo_confidence:.0%} sure), "
            f"first bar line at {lines[0].time:.3f} s; "
            "if it is otherwise, give --metre and place the first two bar lines with --pins."
        )
    words.append(
        f"{count(len(lines), 'bar line')}, {lines[0].bar} to {lines[-1].bar}: "
        f"{sum(line.placed for line in lines)} placed, {len(doubtful)} doubtful."
    )
    if doubtful:
        words.append(f"Look first at {'bar' if len(doubtful) == 1 else 'bars'} {listed(doubtful)}.")
    return words


def section_facts(row: SectionRow) -> dict[str, Any]:
    """Tell about a section, for a script."""
    return {
        "name": row.name,
        "bar": row.bar,
        "bars": row.bars,
        "start_s": round(row.start, 6),
        "length_s": round(row.length, 6),
        "tempo_qpm": round(row.tempo, 3),
        "spread_qpm": round(row.spread, 3),
    }


def section_words(row: SectionRow) -> str:
    """Tell about a section, for a musician."""
    return (
        f"{row.name}: {count(row.bars, 'bar')} from bar {row.bar}, {clock(row.length, 0)} long, "
        f"{row.tempo:.1f} quarters a minute, give or take {row.spread:.1f}"
    )


def map_facts(plan: Plan, written: Written) -> dict[str, Any]:
    """Tell about a tempo map and its file, for a script."""
    notes, session, back = plan.note_rounding, plan.session, written.read_back
    return {
        "tempo_events": plan.tempi,
        "worst_fit_ms": milliseconds(plan.worst),
        "read_back": {
            "bars": back.bars,
            "worst_ms": milliseconds(back.worst),
            "worst_bar": back.worst_bar,
            "worst_to_grid_ms": milliseconds(back.worst_to_grid),
        },
        "worst_note_ms": None if notes is None else milliseconds(notes),
        "session": {
            "recording_at_s": round(session.offset, 6),
            "lead_in_bars": len(session.lead_in),
            "bar_shift": session.shift,
        },
        "gain_db": None if written.gain_db is None else round(written.gain_db, 2),
        "steady_tempo_qpm": None if plan.steady_tempo is None else round(plan.steady_tempo, 4),
    }


def map_words(plan: Plan, written: Written) -> list[str]:
    """Tell about a tempo map and its files, for a musician."""
    back = written.read_back
    words = [
        f"{count(plan.tempi, 'tempo', 'tempi')}, each bar within {in_ms(plan.worst)} of its place.",
        f"Read back: {count(back.bars, 'bar line')}, the worst {in_ms(back.worst)} off (bar {back.worst_bar}).",
    ]
    if plan.note_rounding is not None:
        words.append(f"The notes go along, each within {in_ms(plan.note_rounding)} of where it was played.")
    if written.gain_db is not None:
        words.append(gain_words(plan, written.gain_db))
    return [*words, plan.placing]


def gain_words(plan: Plan, gain_db: float) -> str:
    """Tell by how much the take was turned down in its sound files."""
    if gain_db > -0.005:
        return f"The sound is as loud as the take: it never peaks above {plan.settings.peak:g} dBFS."
    return f"The sound is turned down by {-gain_db:.1f} dB, so that it peaks at {plan.settings.peak:g} dBFS."


def _beats_a_minute(grid: Grid) -> float:
    return 60 / float(np.median(np.diff(grid.beat_times)))


def _doubtful(grid: Grid) -> list[int]:
    return [line.bar for line in grid.bar_lines if line.doubtful]


def metre_text(metre: Metre) -> str:
    """Write a metre as ``--metre`` reads it."""
    first, *changes = metre.changes
    return ",".join([first[1].full, *(f"{bar}:{signature.full}" for bar, signature in changes)])
