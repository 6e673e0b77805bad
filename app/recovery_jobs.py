"""Looks for work that a fall has left in journals; done away from the window."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from app.history import History
from app.journal_file import ENDING, JournalFile
from app.project_jobs import Loaded, choices_of
from core.errors import BarwrightError, InputError
from core.journal import UNKNOWN, Kept
from core.project import Reference
from core.project_file import read_project
from core.recording import find_recording


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """Work that was not saved when its window ended.

    Parameters
    ----------
    file : JournalFile
        Its journal, which belongs to this process now.
    loaded : Loaded
        What it holds.
    steps : int
        Gestures that were not saved.
    until : datetime
        When the last of them was made.
    cut : bool
        Whether the end of the journal could not be read.
    """

    file: JournalFile
    loaded: Loaded
    steps: int
    until: datetime
    cut: bool


@dataclass(frozen=True, slots=True)
class Looked:
    """Everything that was found, the latest first, and journals that could not be read and were put aside."""

    found: tuple[Found, ...] = ()
    unreadable: tuple[Path, ...] = ()


def look(folder: Path) -> Looked:
    """Look through a folder of journals; those of windows that are open are left alone."""
    try:
        paths = sorted(folder.glob(f"*{ENDING}"), reverse=True)
    except OSError:
        return Looked()
    found, unreadable = [], []
    for path in paths:
        file = JournalFile.found(path)
        if file is None:
            continue
        try:
            until = datetime.fromtimestamp(path.stat().st_mtime)
            kept = file.read()
        except (InputError, OSError):
            if path.exists() and path.stat().st_size:
                unreadable.append(file.set_aside())
            else:
                file.remove()
            continue
        if _is_saved(kept):
            # The window ended between saving and clearing up.
            file.remove()
        else:
            loaded = loaded_from(kept)
            found.append(Found(file=file, loaded=loaded, steps=kept.steps, until=until, cut=bool(kept.lost)))
    return Looked(tuple(sorted(found, key=_until, reverse=True)), tuple(unreadable))


def loaded_from(kept: Kept) -> Loaded:
    """Make the work of a journal ready to be gone on with, its recording looked for."""
    recording = _recording(kept.work.recording)
    path = None if kept.path is None else Path(kept.path)
    work = kept.work
    if path is not None:
        with suppress(BarwrightError):  # where it has gone or is damaged, the journal holds all of it
            work = replace(work, newer=read_project(path)[0].newer)
    return Loaded(
        path=path,
        stamp=kept.stamp,
        project=work,
        history=History.led(work, kept.led),
        recording=recording,
        choices=kept.choices,
        saved=False,
    )


def _recording(reference: Reference) -> Path | None:
    path = Path(reference.path)
    if reference.sha256 != UNKNOWN:
        return find_recording(reference, path.parent)
    # The fall came before its bytes were gone through.
    try:
        return path if path.is_file() and path.stat().st_size == reference.size else None
    except OSError:
        return None


def _is_saved(kept: Kept) -> bool:
    """Whether the project file holds all of a journal."""
    if kept.path is None:
        return False
    path = Path(kept.path)
    try:
        project, _ = read_project(path)
    except BarwrightError:
        return False
    work = kept.work
    same = (project.document, project.first, project.edits, project.at) == (
        work.document,
        work.first,
        work.edits,
        work.at,
    )
    return same and project.newer is None and _chosen(choices_of(project, path.parent)) == _chosen(kept.choices)


def _chosen(choices: Mapping[str, Any]) -> dict[str, Any]:
    """Choices without the folder: a project holds that only where it lies below it."""
    return {name: each for name, each in choices.items() if name != "folder"}


def _until(found: Found) -> datetime:
    return found.until
