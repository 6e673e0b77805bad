"""Project files: JSON of a versioned format, read strictly, written whole, the version before kept beside.

`core/project.schema.json` describes the format. A file of a newer version is refused with a sentence: what it
holds beyond this one would be lost with the next save.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Sequence
from dataclasses import asdict, fields, replace
from pathlib import Path, PurePosixPath
from typing import Any, NoReturn

from core.edit_codec import document_from_json, document_to_json, edit_from_json, edit_to_json
from core.errors import HandoverError, InputError
from core.handover import Settings
from core.project import Project, Reference
from core.safe_write import NewFile, refuse_given, write_together
from core.take_file import cannot_read

ENDING = ".barwright"
"""A project's name ends with it, that of the version before with one more ``~``."""

FORMAT, VERSION = "barwright project", 2

LARGEST = 16 * 2**20
"""Bytes a project can have; a thousand edits take about a hundredth of that."""

MOST_EDITS = 20_000
"""Edits a history can have."""

_SHA256 = re.compile(r"[0-9a-f]{64}")
_LONGEST_PATH, _LONGEST_WORD = 4096, 255
_WORDS: dict[str, tuple[type, ...]] = {
    "name": (str,),
    "knots": (str,),
    "tolerance": (float, int),
    "lead_in": (str, int),
    "division": (int,),
    "key": (str, type(None)),
    **dict.fromkeys(("click", "notes", "bars", "beats"), (bool,)),
}


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
    """The way from a project's folder to one below it; None for every other."""
    try:
        way = Path(os.path.abspath(folder)).relative_to(os.path.abspath(home)).as_posix()
        return _folder(way)
    except ValueError:
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
        If it cannot be written; what was there is there still.
    """
    # A link is a name for the file elsewhere, which is the one to be written.
    path = path.resolve()
    refuse_given([path, previous(path)], given)
    project, data = _fitting(project)

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
        if before == data:
            return project, hashlib.sha256(data).hexdigest()
        files.insert(0, NewFile(previous(path), before))
    write_together(files, overwrite=True)
    return project, hashlib.sha256(data).hexdigest()


def to_bytes(project: Project) -> bytes:
    """Write a project as JSON, in ASCII."""
    data = {
        "format": FORMAT,
        "version": VERSION,
        "recording": asdict(project.recording),
        "document": document_to_json(project.document),
        "history": {
            "first": document_to_json(project.first),
            "edits": [edit_to_json(edit) for edit in project.edits],
            "at": project.at,
        },
        "handover": {
            "settings": None if project.settings is None else asdict(project.settings),
            "folder": project.folder,
        },
    }
    return (json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n").encode("ascii")


def from_bytes(data: bytes) -> Project:
    """Read a project from the bytes of its file.

    Raises
    ------
    InputError
        If it is not exactly a project of this version or one before.
    """
    whole = _parsed(data)
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise InputError("It is no project of Barwright.")
    version = whole.get("version")
    if type(version) is not int or version < 1:
        raise InputError("It does not say which version of the format it has.")
    if version > VERSION:
        raise InputError(f"It was saved by a newer Barwright (format {version}, here {VERSION}): update this one.")
    if version < 2:
        _to_version_2(whole)
    own = _entries(whole, "project", "format", "version", "recording", "document", "history", "handover")
    history = _entries(own["history"], "history", "first", "edits", "at")
    edits, at = history["edits"], history["at"]
    if not isinstance(edits, list) or len(edits) > MOST_EDITS:
        raise InputError(f"The edits must be a list of {MOST_EDITS} at most.")
    if type(at) is not int:
        raise InputError("It does not say how many edits are in force.")
    handover = _entries(own["handover"], "hand-over", "settings", "folder")
    return Project(
        recording=_reference(own["recording"]),
        document=document_from_json(own["document"]),
        first=document_from_json(history["first"]),
        edits=tuple(edit_from_json(edit) for edit in edits),
        at=at,
        settings=None if handover["settings"] is None else _settings(handover["settings"]),
        folder=None if handover["folder"] is None else _folder(handover["folder"]),
    )


def _to_version_2(project: dict[str, Any]) -> None:
    """Make a project of version 1 one of version 2, whose documents hold taps."""
    history = project.get("history")
    for document in (project.get("document"), history.get("first") if isinstance(history, dict) else None):
        if isinstance(document, dict):
            document["taps"] = []


def _parsed(data: bytes) -> Any:
    if len(data) > LARGEST:
        raise InputError(f"It is larger than the {LARGEST >> 20} MB that a project can have.")
    try:
        return json.loads(data, object_pairs_hook=_once, parse_constant=_no_number)
    except InputError:
        raise
    except (ValueError, RecursionError):
        raise InputError("It is damaged, or no project of Barwright.") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    entries = dict(pairs)
    if len(entries) < len(pairs):
        raise InputError("It says something twice.")
    return entries


def _no_number(_: str) -> NoReturn:
    raise InputError("It holds what is no number.")


def _entries(data: object, what: str, *names: str) -> dict[str, Any]:
    if not isinstance(data, dict) or set(data) != set(names):
        raise InputError(f"The {what} must have the entries {', '.join(names)}, and no others.")
    return data


def _reference(data: object) -> Reference:
    own = _entries(data, "recording", "path", "sha256", "size")
    path, sha256, size = own["path"], own["sha256"], own["size"]
    if not _is_text(path, _LONGEST_PATH):
        raise InputError("The recording has no path.")
    if not (isinstance(sha256, str) and _SHA256.fullmatch(sha256)):
        raise InputError("The recording has no SHA-256.")
    if type(size) is not int or not 0 < size < 2**53:
        raise InputError("The recording has no size.")
    return Reference(path, sha256, size)


def _settings(data: object) -> Settings:
    own = _entries(data, "settings", *(item.name for item in fields(Settings)))
    for name, kinds in _WORDS.items():
        value = own[name]
        if type(value) not in kinds or (isinstance(value, str) and not _is_text(value, _LONGEST_WORD)):
            raise InputError(f"The {name} of the settings cannot be read.")
    if abs(own["tolerance"]) > 1e6:
        raise InputError("The tolerance of the settings cannot be.")
    return Settings(**{**own, "tolerance": float(own["tolerance"])})


def _folder(data: object) -> str:
    """A folder below the project's own: a file from elsewhere must not choose any other to write to."""
    parts = PurePosixPath(data).parts if isinstance(data, str) and _is_text(data, _LONGEST_PATH) else ("..",)
    if ".." in parts or parts[:1] == ("/",) or any(set(part) & set("\\:") for part in parts):
        raise InputError("The folder of the hand-over must be below that of the project.")
    return str(data)


def _is_text(value: object, longest: int) -> bool:
    return isinstance(value, str) and 0 < len(value) <= longest and "\0" not in value


def _fitting(project: Project) -> tuple[Project, bytes]:
    """Bytes that can be read again: the longest histories lose their beginning, never the document."""
    data = to_bytes(project)
    while len(data) > LARGEST or len(project.edits) > MOST_EDITS:
        half = (len(project.edits) + 1) // 2
        if project.at < half:
            project = replace(project, first=project.document, edits=(), at=0)
        else:
            first = project.first
            for edit in project.edits[:half]:
                first = edit.apply(first)
            project = replace(project, first=first, edits=project.edits[half:], at=project.at - half)
        data = to_bytes(project)
    return project, data


def _inside(error: InputError) -> str:
    """A sentence as part of another."""
    text = " ".join(str(error).split()).removesuffix(".")
    return text[:1].lower() + text[1:]
