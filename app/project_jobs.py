"""Saving and opening a project as work away from the window: frozen values in, frozen values out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from app.history import History
from core.handover_settings import Settings
from core.project import Project, Reference
from core.project_file import below, read_project, stamp, write_project
from core.recording import find_recording, is_same, path_from, refer
from core.take import Take


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What is on disk of the work on a take.

    Parameters
    ----------
    path : Path or None
        The project file; None until it was saved.
    stamp : str or None
        State of that file when it was read or written last.
    history : History or None
        What it holds; None where that is not what was opened.
    choices : mapping
        Choices of the hand-over in it, as plain values.
    reference : Reference or None
        The recording; None until its bytes were gone through.
    """

    path: Path | None = None
    stamp: str | None = None
    history: History | None = None
    choices: Mapping[str, Any] = field(default_factory=dict)
    reference: Reference | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Save:
    """What is to be saved where; `replaces` whatever is there, or only what was seen there before."""

    path: Path
    take: Take
    history: History
    choices: Mapping[str, Any]
    kept: Kept
    replaces: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Saved:
    """It was saved."""

    job: Save
    kept: Kept


@dataclass(frozen=True, slots=True, eq=False)
class Clash:
    """It was not saved: somebody else has written the file, or it is another one."""

    job: Save


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """A project that was read.

    Parameters
    ----------
    path : Path
        Where it is saved again.
    stamp : str or None
        State of that file; None where another was read, as the version before.
    project : Project
        What it holds.
    history : History
        The same, to be gone on with.
    recording : Path or None
        None where it was not found.
    """

    path: Path
    stamp: str | None
    project: Project
    history: History
    recording: Path | None

    @property
    def whole(self) -> bool:
        """Whether all that was done can still be undone."""
        return len(self.history.entries) == len(self.project.edits)

    @property
    def choices(self) -> dict[str, Any]:
        """Choices of the hand-over as plain values; empty: as they come."""
        if self.project.settings is None:
            return {}
        home, folder = self.path.parent, self.project.folder
        # A link in a folder that came from elsewhere may lead anywhere.
        inside = folder is not None and below(home / folder, home) is not None
        there = {"folder": str(home / folder)} if folder is not None and inside else {}
        return {**asdict(self.project.settings), **there}


def save(job: Save) -> Saved | Clash:
    """Save a project, unless somebody else's work would be replaced unasked.

    Raises
    ------
    BarwrightError
        If it cannot be saved; what was there is there still.
    """
    there = stamp(job.path)
    if not job.replaces and there is not None and (job.path != job.kept.path or there != job.kept.stamp):
        return Clash(job)
    home, recording = job.path.parent, job.take.path
    known = job.kept.reference
    reference = refer(recording, home) if known is None else replace(known, path=path_from(home, recording))
    history, choices = job.history, dict(job.choices)
    folder = choices.pop("folder", None)
    elsewhere = folder is not None and Path(folder) != recording.absolute().parent
    project = Project(
        recording=reference,
        document=history.document,
        first=history.first,
        edits=tuple(entry.edit for entry in history.entries),
        at=history.at,
        settings=Settings(**choices) if choices else None,
        folder=below(Path(folder), home) if elsewhere else None,
    )
    _, now = write_project(job.path, project, given=[recording])
    kept = Kept(path=job.path, stamp=now, history=history, choices=job.choices, reference=reference)
    return Saved(job, kept)


def load(path: Path) -> Loaded:
    """Read a project and look for its recording.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    path = path.absolute()
    project, seen = read_project(path)
    # The version before is gone on with under the project's own name.
    own = path.with_name(path.name.removesuffix("~"))
    return Loaded(
        path=own,
        stamp=seen if own == path else None,
        project=project,
        history=History.of(project),
        recording=find_recording(project.recording, path.parent),
    )


def compare(loaded: Loaded, recording: Path) -> tuple[Loaded, Path, bool]:
    """Whether a file is the recording of a project."""
    return loaded, recording, is_same(recording, loaded.project.recording)
