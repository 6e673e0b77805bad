"""The hand-over of a take: from its grid to everything a sequencer is given.

`plan` works it all out without touching the disk, so that it can be looked at first; `write` writes all of it or
nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from math import log10
from pathlib import Path
from typing import BinaryIO

from core.document import Section
from core.errors import InputError
from core.fit import Fit, fit_bars, fit_beats, fit_fewest
from core.grid import Grid
from core.handover_settings import Settings
from core.heard import Source, peak_of, source_of
from core.manifest import manifest_file
from core.plan_midi import MidiPlanner
from core.plan_sound import SoundPlanner
from core.planned import Making, Plan, PlannedFile, Written, WrittenFile, counted
from core.read_back import read_back
from core.report import report_file
from core.safe_write import NewFile, refuse_given, write_together
from core.session import Caution, Session, place
from core.session_sound import InSession
from core.steady import mean_tempo
from core.take import AudioTake, MidiTake, Take
from core.units import MAX_TEMPO_US, quarters_per_minute, us_per_quarter
from core.write_csv import bars_csv, beats_csv

Stages = Callable[[str, float], object]
"""Told what is being done and the share of it that is done, 0 to 1; whatever it raises ends the writing."""


def plan(
    grid: Grid,
    settings: Settings,
    *,
    take: Take | None = None,
    sections: Sequence[Section] = (),
    source: Source | None = None,
    as_recorded: bool = True,
) -> Plan:
    """Work out a hand-over.

    Parameters
    ----------
    grid : Grid
        Bar lines of the take, two at least.
    settings : Settings
        What is asked for.
    take : Take or None
        Needed only where its notes or its sound go along.
    sections : sequence of Section
        Names and the bars of the take they start at.
    source : Source or None
        What is heard of the take, where that is not the file of an audio take as it is.
    as_recorded : bool
        Whether all of the recording is heard as it was played, so that the map fits its file too.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        If the grid has too few bar lines, a section is at no bar of it, or something is asked for that the take
        does not have.
    HandoverError
        If a bar is too slow or too fast for a MIDI file.
    """
    notes = take if isinstance(take, MidiTake) else None
    if settings.needs_notes and notes is None:
        raise InputError("A recording of sound has no notes to write; leave out the notes.")
    if source is None and isinstance(take, AudioTake):
        source = source_of(take)
    sections = sorted(sections, key=lambda marker: marker.bar)
    fit = _fit(grid, settings)
    session = place(grid, fit, lead_in=settings.lead_in, intro=settings.intro)
    midi = MidiPlanner(settings, session, sections, notes)
    made = midi.made
    files = [midi.map()]
    if settings.bars:
        words = f"{counted(len(grid.bar_lines), 'bar line')} with time, tempo and how sure each is"
        data = bars_csv(grid, fit, session, sections=sections)
        files.append(PlannedFile("bars", settings.file_name("bars"), words, data))
    if settings.beats:
        words = f"{counted(len(grid.beats), 'beat')} with time, bar and beat"
        files.append(PlannedFile("beats", settings.file_name("beats"), words, beats_csv(grid)))
    us = _steady_us(settings, session)
    tempo = quarters_per_minute(us)
    sounds, beware = _sounds(SoundPlanner(settings, session, sections, source), tempo)
    files += sounds
    if settings.played:
        files.append(midi.played())
    if settings.steady_notes:
        files.append(midi.steady(us))
    if settings.report:
        files.append(report_file(settings.file_name("report")))
    if settings.manifest:
        files.append(manifest_file(settings.file_name("manifest")))
    return Plan(
        settings=settings,
        grid=grid,
        fit=fit,
        session=session,
        sections=tuple(sections),
        files=tuple(files),
        source=source if settings.needs_sound else None,
        tempi=made.tempo_events,
        note_rounding=made.note_rounding,
        steady_tempo=tempo if settings.steady or settings.steady_notes else None,
        cautions=(*session.cautions, *map(Caution, made.warnings), *beware, *_misfit(settings, as_recorded)),
    )


def write(
    plan: Plan,
    folder: Path,
    *,
    given: Sequence[Path] = (),
    overwrite: bool = False,
    stages: Stages = lambda _words, _share: None,
) -> Written:
    """Write all files of a plan, and read the map back.

    Parameters
    ----------
    plan : Plan
        What to write.
    folder : Path
        Where to; it must exist.
    given : sequence of Path
        Files that were read, the recording first of all; none of them is ever written over.
    overwrite : bool
        Whether files of those names may be replaced.
    stages : callable
        Told how it goes.

    Raises
    ------
    HandoverError
        If one of the files cannot be written or the map does not read back; everything in the folder is then as
        it was.
    TakeError
        If the recording cannot be read any more.
    """
    paths = [folder / file.name for file in plan.files]
    refuse_given(paths, given)
    with _opened(plan, stages) as making:
        files = [
            NewFile(path, file.data if file.data is not None else partial(_make, file, making, stages), check)
            for path, file in zip(paths, plan.files, strict=True)
            for check in [partial(_finished, file, path, making)]
        ]
        write_together(files, overwrite=overwrite)
    assert making.read_back is not None
    return Written(tuple(making.done), making.read_back, 20 * log10(making.gain) if making.sound else None)


@contextmanager
def _opened(plan: Plan, stages: Stages) -> Iterator[Making]:
    """Open the take's sound where a file needs it, and measure its peak."""
    if plan.source is None:
        yield Making(plan, None, 1.0, lambda _: None)
        return
    with plan.source.open(progress=partial(stages, "Preparing the sound of the take")) as heard:
        peak = peak_of(heard, progress=partial(stages, "Measuring the peak"))
        ceiling = 10 ** (plan.settings.peak / 20)
        gain = min(1.0, ceiling / peak) if peak else 1.0
        yield Making(plan, InSession(heard, plan.session), gain, lambda _: None)


def _make(file: PlannedFile, making: Making, stages: Stages, out: BinaryIO) -> None:
    assert file.make is not None
    words = f"Writing {file.name}"
    stages(words, 0.0)
    making.told = partial(stages, words)
    file.make(out, making)


def _finished(file: PlannedFile, path: Path, making: Making, beside: Path) -> None:
    """Look at a file that has been written beside its place."""
    if file.kind == "map":
        making.read_back = read_back(beside, making.plan.session)
    sha256 = None
    if making.plan.settings.manifest:
        with beside.open("rb") as written:
            sha256 = hashlib.file_digest(written, "sha256").hexdigest()
    making.done.append(WrittenFile(file.kind, path, beside.stat().st_size, sha256))


def _misfit(settings: Settings, as_recorded: bool) -> list[Caution]:
    """Say that a map of what is heard needs the take as it is heard."""
    if as_recorded or settings.sound or settings.notes or settings.played:
        return []
    sentence = (
        "The take is heard with passages left out, moved or shortened, so the map does not fit the recording's "
        "own file: write the take as sound, or its notes, along with it."
    )
    return [Caution(sentence)]


def _sounds(planner: SoundPlanner, tempo: float) -> tuple[list[PlannedFile], list[Caution]]:
    """Plan the sound files that are asked for, and say what to beware of."""
    settings = planner.settings
    files: list[PlannedFile] = []
    cautions: list[Caution] = []
    if settings.sound:
        files.append(planner.take())
    if settings.loops:
        files += planner.loops()
        if not planner.sections:
            cautions.append(Caution("No section has a name yet, so no sections are written as sound."))
    if settings.click_sound:
        files.append(planner.clicks())
    if settings.steady:
        files.append(planner.steady(tempo))
        cautions += planner.hard_to_stretch(tempo)
    return files, cautions


def _fit(grid: Grid, settings: Settings) -> Fit:
    if settings.knots == "fewest":
        return fit_fewest(grid, settings.tolerance)
    return fit_beats(grid, "all") if settings.knots == "beats" else fit_bars(grid)


def _steady_us(settings: Settings, session: Session) -> int:
    """Whole microseconds of a quarter note, so that sound and MIDI have exactly the same tempo."""
    tempo = settings.steady_tempo or mean_tempo(session)
    return max(1, min(round(us_per_quarter(tempo)), MAX_TEMPO_US))
