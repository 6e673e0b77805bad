"""One take handed over: what is chosen for it, the way from its file to all that is written, what came of it."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from app import arguments
from app.known import FromProject, Said, known
from app.progress import Progress
from app.sound.piano_source import by_piano
from app.telling import bar_facts, bar_words, map_facts, map_words, section_facts, section_words
from core.errors import HandoverError, InputError
from core.grid import Grid
from core.handover import write
from core.handover_settings import Settings
from core.plan_heard import plan_of
from core.planned import Plan, Written
from core.proposal import Proposal
from core.read_take import read_take
from core.safe_write import refuse_existing, refuse_given
from core.section_rows import SectionRow, section_rows
from core.take_file import kind_of


@dataclass(frozen=True, slots=True)
class Mapped:
    """What came of one take."""

    grid: Grid
    proposal: Proposal | None
    planned: Plan
    written: Written
    before: tuple[str, ...]
    """Warnings about what was given."""

    @property
    def warnings(self) -> list[str]:
        """What to beware of, a sentence each."""
        return [*self.before, *(caution.text for caution in self.planned.cautions)]

    @property
    def facts(self) -> dict[str, Any]:
        """Everything, for a script."""
        return {
            "files": self._files(),
            **bar_facts(self.grid, self.proposal),
            "sections": [section_facts(row) for row in self._sections],
            **map_facts(self.planned, self.written),
            "warnings": self.warnings,
        }

    @property
    def words(self) -> list[str]:
        """Everything, for a musician."""
        return [
            *(f"Wrote {file.path}" for file in self.written.files),
            *bar_words(self.grid, self.proposal),
            *(f"{section_words(row)}." for row in self._sections),
            *map_words(self.planned, self.written),
        ]

    @property
    def _sections(self) -> tuple[SectionRow, ...]:
        return section_rows(self.grid, self.planned.sections)

    def _files(self) -> dict[str, Any]:
        files: dict[str, Any] = {file.kind: str(file.path) for file in self.written.files if file.kind != "loop"}
        if loops := [str(file.path) for file in self.written.files if file.kind == "loop"]:
            files["loops"] = loops
        return files


def map_take(given: Namespace, progress: Progress) -> Mapped:
    """Find the bar lines of a take and write the files of the hand-over.

    Raises
    ------
    BarwrightError
        If something that was given cannot be used; nothing is written then.
    """
    work = known(given)
    settings = _settings(given, work)
    protect(given, work, *(given.out / name for name in settings.file_names()))
    _check_notes(work, settings)
    progress.stage(f"Reading {work.recording.name}")
    take = read_take(work.recording)
    _make_folder(given.out)
    heard, proposal = work.heard(take, progress)

    progress.stage("Writing the tempo map")
    planned = plan_of(heard, take, settings, instrument=by_piano)
    written = write(planned, given.out, given=work.sources, overwrite=given.force, stages=progress.stage_share)
    return Mapped(heard.grid, proposal, planned, written, tuple(work.warnings))


def _check_notes(work: Said | FromProject, settings: Settings) -> None:
    """Refuse at once what the recording or the files asked for have no notes for."""
    audio = kind_of(work.recording) != "midi"
    if settings.needs_notes and audio:
        raise InputError(
            f"{work.recording.name} is audio and has no notes to write; leave out --notes and the like."
        )
    if work.repairing.said and audio:
        raise InputError(f"{work.recording.name} is audio and has no notes to put right.")
    if work.repairing.said and not (settings.needs_notes or settings.needs_sound):
        raise InputError(
            "No file that is asked for holds the notes that are put right: add --played, --notes or --sound."
        )


def protect(given: Namespace, work: Said | FromProject, *outputs: Path) -> None:
    """Refuse to write over what was given, whatever is said, and over anything else unless it is said."""
    refuse_given(outputs, work.sources)
    if not given.force:
        refuse_existing(*outputs)


def _settings(given: Namespace, work: Said | FromProject) -> Settings:
    """Choices for the hand-over: those of the project, if there is one, and over them those that were given."""
    base = work.settings or Settings(name=work.recording.stem if given.name is None else given.name)
    midi = kind_of(work.recording) == "midi"
    if given.everything:
        base = replace(base, click_sound=True, report=True, manifest=True, sound=True, loops=True)
        base = replace(base, steady=True, played=midi, steady_notes=midi)
    said = {
        **{name: getattr(given, name) for name in _AS_GIVEN},
        "key": given.key or None,
        "lead_in": None if given.lead_in is None else arguments.lead_in(given.lead_in),
        "strength": None if given.strength is None else arguments.number(given.strength, "strength", "50") / 100,
        "peak": None if given.peak is None else arguments.number(given.peak, "peak", "-12"),
        "steady_tempo": None
        if given.steady_tempo is None
        else arguments.number(given.steady_tempo, "steady tempo", "72"),
    }
    settings = replace(base, **{name: value for name, value in said.items() if value is not None})
    if given.tolerance is None:
        return settings
    if settings.knots != "fewest":
        raise InputError("--tolerance says how seldom the tempo may change; it needs --knots fewest.")
    return replace(settings, tolerance=arguments.tolerance(given.tolerance))


_AS_GIVEN = (
    *("name", "knots", "intro", "division", "click", "notes"),
    *("sound", "form", "marks", "loops", "count_in", "click_sound", "played", "unit"),
    *("steady", "steady_notes", "report", "manifest"),
)
"""Settings that an option of the same name says as they are."""


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise HandoverError(f"{folder} is a file, not a folder; choose another --out.") from None
    except OSError as error:
        raise HandoverError(
            f"The folder {folder} cannot be made ({error.strerror}); choose another --out."
        ) from error
