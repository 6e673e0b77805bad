"""Project files: read and written whole, the version before kept beside; a newer version is never replaced."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from core.errors import HandoverError, InputError
from core.project import Project
from core.project_codec import LARGEST, VERSION, fitting, folder_below, from_bytes, to_bytes, version_of
from core.safe_write import NewFile, refuse_given, write_together
from core.take_file import cannot_read

ENDING = ".barwright"
"""A project's name ends with it, that of the version before with one more ``~``."""


def is_project(path: Path) -> bool:
    """Whether a file's name is that of a project, or of the version before one."""
    return path.name.lower().endswith((ENDING, ENDING + "~"))


def previous(path: Path) -> Path:
    """Where the version before of a project is kept."""
    return path.with_name(path.name + "~")


def stamp(path: Path) -> str | None:
    """Tell the state of a file, to see later whether somebody else has written it; None where there is none."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def below(folder: Path, home: Path) -> str | None:
    """The way from a project's folder to one below it, links followed; None for every other."""
    try:
        way = Path(os.path.realpath(folder)).relative_to(os.path.realpath(home)).as_posix()
        return folder_below(way)
    except (OSError, ValueError):
        return None


def read_project(path: Path) -> tuple[Project, str]:
    """Read a project file.

    Returns
    -------
    Project
        What it holds.
    str
        Its `stamp`.

    Raises
    ------
    InputError
        If it cannot be read, is no project, is damaged or of a newer version.
    """
    if path.exists() and not path.is_file():
        raise InputError(f"{path.name} is no file: choose the project itself.")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        raise cannot_read(path, error) from error
    try:
        return from_bytes(data), hashlib.sha256(data).hexdigest()
    except InputError as error:
        sentence = f"{path.name} cannot be opened: {_inside(error)}."
        if previous(path).is_file():
            sentence = f"{sentence[:-1]}; the version before is beside it as {previous(path).name}."
        raise InputError(sentence) from error


def write_project(path: Path, project: Project, *, given: Sequence[Path] = ()) -> tuple[Project, str]:
    """Write a project file whole or not at all, and keep what was there as the version before.

    Parameters
    ----------
    path : Path
        Where to; a link is followed.
    given : sequence of Path
        Files that are never written over, the recording first of all.

    Returns
    -------
    Project
        What was written: all of it, or without the first edits of a history that is too long.
    str
        The `stamp` of the file.

    Raises
    ------
    HandoverError
        If it cannot be written, or what is there was saved by a newer version; what was there is there still.
    """
    # A link is a name for the file elsewhere, which is the one to be written.
    path = path.resolve()
    refuse_given([path, previous(path)], given)
    project = fitting(replace(project, newer=None))
    data = to_bytes(project)

    def check(written: Path) -> None:
        try:
            same = from_bytes(written.read_bytes()) == project
        except InputError:
            same = False
        if not same:
            raise HandoverError(f"{path} was not written: it does not read back as it is; choose another place.")

    files = [NewFile(path, data, check)]
    try:
        before = path.read_bytes()
    except FileNotFoundError:
        pass
    except OSError as error:
        raise HandoverError(
            f"{path} was not written: what is there cannot be kept ({error.strerror}); choose another name."
        ) from error
    else:
        if (version_of(before) or 0) > VERSION:
            raise HandoverError(
                f"{path} was not written: it was saved by a newer Barwright, and this one would lose some of it; "
                "choose another name."
            )
        if before == data:
            return project, hashlib.sha256(data).hexdigest()
        files.insert(0, NewFile(previous(path), before, like=path))
    write_together(files, overwrite=True)
    return project, hashlib.sha256(data).hexdigest()


def _inside(error: InputError) -> str:
    """A sentence as part of another."""
    text = " ".join(str(error).split()).removesuffix(".")
    return text[:1].lower() + text[1:]
