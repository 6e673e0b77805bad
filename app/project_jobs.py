"""Saving and opening a project as work away from the window: frozen values in, frozen values out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from app.history import History
from core.handover_settings import Settings
from core.journal import UNKNOWN
from core.project import Newer, Project, Reference
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
    newer : Newer or None
        Where a newer version has saved it, which is never written over.
    """

    path: Path | None = None
    stamp: str | None = None
    history: History | None = None
    choices: Mapping[str, Any] = field(default_factory=dict)
    reference: Reference | None = None
    newer: Newer | None = None


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
    """Work that was read, from a project or from a journal.

    Parameters
    ----------
    path : Path or None
        Where it is saved again; None while it never was.
    stamp : str or None
        State of that file; None where another was read, as the version before.
    project : Project
        What it holds.
    history : History
        The same, to be gone on with.
    recording : Path or None
        None where it was not found.
    choices : mapping
        Choices of the hand-over as plain values; empty: as they come.
    saved : bool
        Whether it is what the file at `path` holds.
    absent : bool
        Whether it is gone on with without its recording.
    """

    path: Path | None
    stamp: str | None
    project: Project
    history: History
    recording: Path | None
    choices: Mapping[str, Any]
    saved: bool = True
    absent: bool = False

    @property
    def whole(self) -> bool:
        """Whether all that was done can still be undone."""
        return len(self.history.entries) == len(self.project.edits)

    @property
    def name(self) -> str:
        """What the work is called."""
        return self.path.name if self.path is not None else f"the work on {self.expected.name}"

    @property
    def title(self) -> str:
        """The project's name, or that of the take."""
        return self.path.name if self.path is not None else self.expected.name

    @property
    def expected(self) -> Path:
        """Where the recording was."""
        reference = Path(self.project.recording.path)
        return reference if self.path is None else self.path.parent / reference

    def kept(self, choices: Mapping[str, Any]) -> Kept:
        """What of it is on disk, once it is shown with these choices."""
        reference = self.project.recording
        # Another recording that is used all the same has to be gone through.
        known = (self.recording is not None or self.absent) and reference.sha256 != UNKNOWN
        return Kept(
            path=self.path,
            stamp=self.stamp,
            history=self.history if self.saved and self.stamp is not None and self.whole and known else None,
            choices=choices,
            reference=reference if known else None,
            newer=self.project.newer,
        )


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
        choices=choices_of(project, path.parent),
    )


def choices_of(project: Project, home: Path) -> dict[str, Any]:
    """Choices for the hand-over of a project in a folder, as plain values; empty: as they come."""
    if project.settings is None:
        return {}
    folder = project.folder
    # A link in a folder that came from elsewhere may lead anywhere.
    inside = folder is not None and below(home / folder, home) is not None
    there = {"folder": str(home / folder)} if folder is not None and inside else {}
    return {**asdict(project.settings), **there}


def compare(loaded: Loaded, recording: Path) -> tuple[Loaded, Path, bool]:
    """Whether a file is the recording of a project."""
    return loaded, recording, is_same(recording, loaded.project.recording)
