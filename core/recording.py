"""A recording known by what it holds, so that it is found again under another name."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from itertools import chain, islice
from pathlib import Path

from core.project import Reference
from core.take_file import cannot_read

MOST = 20_000
"""Files that are looked at, by their sizes first, before the musician is asked where a recording is."""


def refer(recording: Path, folder: Path) -> Reference:
    """Describe a recording for a project in a folder.

    Raises
    ------
    TakeError
        If it cannot be read.
    """
    try:
        size, sha256 = recording.stat().st_size, _sha256(recording)
    except OSError as error:
        raise cannot_read(recording, error) from error
    return Reference(path_from(folder, recording), sha256, size)


def path_from(folder: Path, recording: Path) -> str:
    """The way from a folder to a recording; all of its path where they lie on different drives."""
    there = Path(os.path.abspath(recording))
    try:
        return Path(os.path.relpath(there, os.path.abspath(folder))).as_posix()
    except ValueError:
        return there.as_posix()


def is_same(recording: Path, reference: Reference) -> bool:
    """Whether a file holds the recording to the last byte; no file, or one that cannot be read, does not."""
    try:
        # The size first: where it differs nothing is read, however long the file is.
        return (
            recording.is_file()
            and recording.stat().st_size == reference.size
            and _sha256(recording) == reference.sha256
        )
    except (OSError, ValueError):
        return False


def find_recording(reference: Reference, folder: Path) -> Path | None:
    """Find a recording where a project says it is, else nearby under any name.

    Nearby are the folder where it was, the project's own, those in that, and the one around it.

    Returns
    -------
    Path or None
        None where it is nowhere there as it was.
    """
    named = folder / reference.name if _remote(reference.path) else folder / reference.path
    beside = (named, folder / reference.name)
    seen: set[Path] = set()
    for path in (*beside, *_nearby(folder, named.parent)):
        if path not in seen and is_same(path, reference):
            return path
        seen.add(path)
    return None


def _remote(path: str) -> bool:
    """Whether a path names another machine: a file from elsewhere must not have any called."""
    return path[:2].replace("\\", "/") == "//"


def _nearby(folder: Path, before: Path) -> Iterator[Path]:
    """Files of the folders around, each folder in the order of names; no more than a person would look through."""
    inside = [path for path in _listed(folder) if not path.name.startswith(".") and os.path.isdir(path)]
    return islice(chain.from_iterable(map(_listed, (folder, before, *inside, folder.absolute().parent))), MOST)


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except (OSError, ValueError):
        return []


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
