"""What each command does: read, ask ``core``, write, and tell."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

import numpy as np

from app import arguments
from app.known import known, listen, weigh
from app.map_folder import map_folder
from app.mapping import map_take, protect
from app.progress import Progress
from app.sectioning import NONE_SUGGESTED
from app.telling import (
    bar_facts,
    bar_words,
    count,
    in_ms,
    listed,
    milliseconds,
    section_facts,
    section_words,
    take_facts,
    take_words,
    tell,
)
from core.describe import describe
from core.errors import InputError
from core.hesitations import find_hesitations
from core.propose_sections import beside, propose_sections
from core.read_back import read_bar_lines
from core.read_csv import read_bar_times
from core.read_take import read_take
from core.section_rows import section_rows
from core.take import Take
from core.units import clock
from core.write_csv import write_beats as write_beats_csv


def write_map(given: Namespace) -> int:
    """Find the bar lines of a take, or of all takes in a folder, and write the files of the hand-over."""
    if given.take.is_dir():
        return map_folder(given)
    if given.jobs is not None:
        raise InputError(f"--jobs is about a folder of takes; leave it out with {given.take.name}.")
    with Progress(quiet=given.quiet) as progress:
        mapped = map_take(given, progress)
    for warning in mapped.warnings:
        print(f"Warning: {warning}", file=sys.stderr)
    tell(given, mapped.facts, mapped.words)
    return 0


def write_beats(given: Namespace) -> int:
    """Find the beats of a take and write them as CSV."""
    work = known(given)
    protect(given, work, given.out)
    with Progress(quiet=given.quiet) as progress:
        heard, proposal = work.heard(_read(work.recording, progress), progress)
        grid = heard.grid
        write_beats_csv(given.out, grid, overwrite=given.force)
    for warning in work.warnings:
        print(f"Warning: {warning}", file=sys.stderr)
    tell(
        given,
        {**bar_facts(grid, proposal), "beats": len(grid.beats), "files": {"beats": str(given.out)}},
        [f"Wrote {given.out}: {len(grid.beats)} beats.", *bar_words(grid, proposal)],
    )
    return 0


def check_map(given: Namespace) -> int:
    """Compare every bar line of a list with a tempo map; 1 where one is outside the tolerance."""
    tolerance = arguments.tolerance(given.tolerance)
    wanted = [(bar + given.shift, time) for bar, time in read_bar_times(given.bars)]
    lines = read_bar_lines(given.map)
    for bar, _ in wanted:
        if not 1 <= bar <= len(lines):
            raise InputError(
                f"{given.bars.name} has a bar {bar}, but {given.map.name} has the bars 1 to {len(lines)}; "
                "check that the two belong together."
            )
    away = [abs(float(lines[bar - 1]) - time) for bar, time in wanted]
    worst = int(np.argmax(away))
    outside = [bar for (bar, _), error in zip(wanted, away, strict=True) if error > tolerance]
    tell(
        given,
        {
            "bars": len(wanted),
            "worst_ms": milliseconds(away[worst]),
            "worst_bar": wanted[worst][0],
            "tolerance_ms": milliseconds(tolerance),
            "outside": outside,
        },
        [
            f"{count(len(wanted), 'bar line')} compared, worst bar {wanted[worst][0]}: {in_ms(away[worst])}.",
            f"Outside {in_ms(tolerance)}: {listed(outside)}." if outside else f"All within {in_ms(tolerance)}.",
        ],
    )
    return 1 if outside else 0


def describe_take(given: Namespace) -> int:
    """Say what is in a take and which metre it seems to be in."""
    with Progress(quiet=given.quiet) as progress:
        take = _read(given.take, progress)
        described = describe(take)
        onsets = listen(take, progress)
        proposal = weigh(onsets, progress)
    tell(
        given,
        {
            "take": str(given.take),
            **take_facts(described),
            "onsets": len(onsets),
            **bar_facts(proposal.grid, proposal),
        },
        [
            f"{given.take.name}: {take_words(described)}",
            f"{count(len(onsets), 'onset')}.",
            *bar_words(proposal.grid, proposal),
        ],
    )
    return 0


def list_pauses(given: Namespace) -> int:
    """List the hesitations of a take."""
    work = known(given)
    with Progress(quiet=given.quiet) as progress:
        take = _read(work.recording, progress)
        onsets = listen(take, progress)
        grid, _ = work.bars(onsets, progress)
    found = find_hesitations(onsets, grid)
    saved = sum(one.saves for one in found)
    tell(
        given,
        {
            "pauses": [
                {
                    "start_s": round(one.start, 6),
                    "end_s": round(one.end, 6),
                    "bar": one.bar,
                    "suggested_s": round(one.suggested, 6),
                    "saves_s": round(one.saves, 6),
                }
                for one in found
            ],
            "saves_s": round(saved, 6),
        },
        [
            *(
                f"{clock(one.start)} to {clock(one.end)}, bar {one.bar}: {one.end - one.start:.1f} s, "
                f"{one.suggested:.1f} s in the tempo around it, saves {one.saves:.1f} s"
                for one in found
            ),
            f"{count(len(found), 'pause')}, {saved:.1f} s saved by tightening all.",
        ],
    )
    return 0


def list_sections(given: Namespace) -> int:
    """List the sections that are named in a project, and those that are suggested."""
    work = known(given)
    with Progress(quiet=given.quiet) as progress:
        onsets = listen(_read(work.recording, progress), progress)
        grid, _ = work.bars(onsets, progress)
    suggested = beside(propose_sections(onsets, grid), work.sections)
    new = {section.bar for section in suggested}
    rows = section_rows(grid, (*work.sections, *suggested))
    tell(
        given,
        {"sections": [{**section_facts(row), "suggested": row.bar in new} for row in rows]},
        [
            *(f"{section_words(row)}{'' if row.bar in new else ', named'}." for row in rows),
            *([] if rows else [NONE_SUGGESTED]),
        ],
    )
    return 0


def _read(path: Path, progress: Progress) -> Take:
    progress.stage(f"Reading {path.name}")
    return read_take(path)
