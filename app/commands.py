"""What each command does: read, ask ``core``, write, and tell."""

from __future__ import annotations

import sys
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

import numpy as np

from app import arguments
from app.known import FromProject, Said, known, listen, weigh
from app.progress import Progress
from app.telling import (
    bar_facts,
    bar_words,
    count,
    in_ms,
    listed,
    map_facts,
    map_words,
    milliseconds,
    take_facts,
    take_words,
    tell,
)
from core import handover
from core.describe import describe
from core.errors import HandoverError, InputError
from core.hesitations import find_hesitations
from core.line_edits import clock
from core.plan_heard import plan_of
from core.read_back import read_bar_lines
from core.read_csv import read_bar_times
from core.read_take import read_take
from core.safe_write import refuse_existing, refuse_given
from core.take import MidiTake, Take
from core.write_csv import write_beats as write_beats_csv


def write_map(given: Namespace) -> int:
    """Find the bar lines of a take and write the files of the hand-over."""
    work = known(given)
    settings = _settings(given, work)
    _protect(given, work, *(given.out / name for name in settings.file_names))

    with Progress(quiet=given.quiet) as progress:
        take = _read(work.recording, progress)
        if settings.notes and not isinstance(take, MidiTake):
            raise InputError(f"{work.recording.name} is audio and has no notes to write; leave out --notes.")
        _make_folder(given.out)
        heard, proposal = work.heard(take, progress)
        grid = heard.grid

        progress.stage("Writing the tempo map")
        planned = plan_of(heard, take, settings)
        written = handover.write(planned, given.out, given=work.sources, overwrite=given.force)

    warnings = [*work.warnings, *(caution.text for caution in planned.cautions)]
    for warning in warnings:
        print(f"Warning: {warning}", file=sys.stderr)
    files = {kind: str(path) for kind, path in written.paths.items()}
    tell(
        given,
        {
            "files": files,
            **bar_facts(grid, proposal),
            **map_facts(planned, written.read_back),
            "warnings": warnings,
        },
        [
            *(f"Wrote {path}" for path in files.values()),
            *bar_words(grid, proposal),
            *map_words(planned, written.read_back),
        ],
    )
    return 0


def write_beats(given: Namespace) -> int:
    """Find the beats of a take and write them as CSV."""
    work = known(given)
    _protect(given, work, given.out)
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


def _read(path: Path, progress: Progress) -> Take:
    progress.stage(f"Reading {path.name}")
    return read_take(path)


def _settings(given: Namespace, work: Said | FromProject) -> handover.Settings:
    """Choices for the hand-over: those of the project, if there is one, and over them those that were given."""
    base = work.settings or handover.Settings(name=work.recording.stem if given.name is None else given.name)
    said = {
        "name": given.name,
        "knots": given.knots,
        "lead_in": None if given.lead_in is None else arguments.lead_in(given.lead_in),
        "division": given.division,
        "key": given.key or None,
        "click": given.click,
        "notes": given.notes,
    }
    settings = replace(base, **{name: value for name, value in said.items() if value is not None})
    if given.tolerance is None:
        return settings
    if settings.knots != "fewest":
        raise InputError("--tolerance says how seldom the tempo may change; it needs --knots fewest.")
    return replace(settings, tolerance=arguments.tolerance(given.tolerance))


def _protect(given: Namespace, work: Said | FromProject, *outputs: Path) -> None:
    """Refuse to write over what was given, whatever is said, and over anything else unless it is said."""
    refuse_given(outputs, work.sources)
    if not given.force:
        refuse_existing(*outputs)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise HandoverError(f"{folder} is a file, not a folder; choose another --out.") from None
    except OSError as error:
        raise HandoverError(
            f"The folder {folder} cannot be made ({error.strerror}); choose another --out."
        ) from error
