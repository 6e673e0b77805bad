"""Projects as JSON of a versioned format and back; `core/project.schema.json` describes it.

A file of this version or one before is read strictly: an entry too many or too few is damage. Of a newer version
what is known here is read and the rest is named, so that it can be shown, but not written over.
"""

from __future__ import annotations

import copy
import json
import re
from dataclasses import asdict, fields, replace
from pathlib import PurePosixPath
from typing import Any, NoReturn

from core.edit_codec import document_from_json, document_to_json, edit_from_json, edit_to_json
from core.errors import InputError
from core.handover_settings import Settings, is_device
from core.newer import made_older
from core.project import Newer, Project, Reference

FORMAT, VERSION = "barwright project", 4

LARGEST = 16 * 2**20
"""Bytes a project can have; a thousand edits take about a hundredth of that."""

MOST_OBJECTS = 1_000_000
"""Objects and lists in a file: each takes a hundred bytes of memory and more, however short it is written."""

MOST_EDITS = 20_000
"""Edits a history can have."""

SHA256 = re.compile(r"[0-9a-f]{64}")
"""How a SHA-256 is written."""

_NAMED = 8
"""Entries that are named one by one in a sentence."""

_LONGEST_PATH, _LONGEST_WORD = 4096, 255
_WORDS: dict[str, tuple[type, ...]] = {
    "name": (str,),
    "knots": (str,),
    "tolerance": (float, int),
    "lead_in": (str, int),
    "division": (int,),
    "key": (str, type(None)),
    "intro": (int,),
    "form": (str,),
    "peak": (float, int),
    "marks": (str,),
    "count_in": (int,),
    "strength": (float, int),
    "unit": (str,),
    "steady_tempo": (float, int, type(None)),
    **dict.fromkeys(("click", "notes", "bars", "beats", "sound", "loops", "click_sound"), (bool,)),
    **dict.fromkeys(("played", "steady", "steady_notes", "report", "manifest"), (bool,)),
}
_NUMBERS = ("tolerance", "peak", "strength", "steady_tempo")
_IN_VERSION_3 = {"name", "knots", "tolerance", "lead_in", "division", "key", "click", "notes", "bars", "beats"}


def to_bytes(project: Project) -> bytes:
    """Write a project as JSON, in ASCII."""
    return (json.dumps(to_json(project), allow_nan=False, separators=(",", ":")) + "\n").encode("ascii")


def to_json(project: Project) -> dict[str, Any]:
    """Write a project as JSON values."""
    return {
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


def fitting(project: Project) -> Project:
    """Make a project one that can be read again: the longest histories lose their beginning."""
    while len(project.edits) > MOST_EDITS or len(to_bytes(project)) > LARGEST:
        half = (len(project.edits) + 1) // 2
        if project.at < half:
            project = replace(project, first=project.document, edits=(), at=0)
        else:
            first = project.first
            for edit in project.edits[:half]:
                first = edit.apply(first)
            project = replace(project, first=first, edits=project.edits[half:], at=project.at - half)
    return project


def from_bytes(data: bytes) -> Project:
    """Read a project from the bytes of its file.

    Raises
    ------
    InputError
        If it is not exactly a project of this version or one before, nor a newer one that can be shown.
    """
    return from_json(parsed(data))


def from_json(whole: Any) -> Project:
    """Read a project from JSON values, which may be changed.

    Raises
    ------
    InputError
        As `from_bytes`.
    """
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise InputError("It is no project of Barwright.")
    version = whole.get("version")
    if type(version) is not int or version < 1:
        raise InputError("It does not say which version of the format it has.")
    if version > VERSION:
        return _of_newer(whole, version)
    if version < 2:
        _extend(whole, taps=[])
    if version < 3:
        _extend(whole, arrangement={"order": [], "taken": []}, repairs=[])
    if version < 4:
        _to_version_4(whole)
    return _read(whole)


def version_of(data: bytes) -> int | None:
    """Version of the format that a file says it has; None where it is no project."""
    try:
        whole = parsed(data)
    except InputError:
        return None
    version = whole.get("version") if isinstance(whole, dict) and whole.get("format") == FORMAT else None
    return version if type(version) is int else None


def _of_newer(whole: dict[str, Any], version: int) -> Project:
    own, left_out = made_older(whole)
    try:
        return replace(_read(own), newer=Newer(version, left_out))
    except InputError:
        raise InputError(
            f"It was saved by a newer Barwright (format {version}, here {VERSION}): update this one."
        ) from None


def _read(whole: dict[str, Any]) -> Project:
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
        folder=None if handover["folder"] is None else folder_below(handover["folder"]),
    )


def _extend(project: dict[str, Any], **entries: Any) -> None:
    """Give the documents of an older version what they could not hold yet."""
    history = project.get("history")
    for document in (project.get("document"), history.get("first") if isinstance(history, dict) else None):
        if isinstance(document, dict):
            document.update(copy.deepcopy(entries))


def _to_version_4(project: dict[str, Any]) -> None:
    """Make a project of version 3 one of version 4, with looks of sections and more files to choose."""
    history, handover = project.get("history"), project.get("handover")
    for document in (project.get("document"), history.get("first") if isinstance(history, dict) else None):
        sections = document.get("sections") if isinstance(document, dict) else None
        for section in sections if isinstance(sections, list) else ():
            if isinstance(section, dict):
                section["look"] = None
    settings = handover.get("settings") if isinstance(handover, dict) else None
    if isinstance(settings, dict):
        usual = asdict(Settings(name="any"))
        settings |= {name: value for name, value in usual.items() if name not in _IN_VERSION_3}


def parsed(data: bytes) -> Any:
    """Read JSON strictly: nothing twice in an object, no infinity, no depth that a file of ours has not.

    Raises
    ------
    InputError
        If it is none, or too large.
    """
    if len(data) > LARGEST:
        raise InputError(f"It is larger than the {LARGEST >> 20} MB that a project can have.")
    if data.count(b"{") + data.count(b"[") > MOST_OBJECTS:
        raise InputError(f"It holds more than the {MOST_OBJECTS} parts that a project can have.")
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
        listed = ", ".join(names) if len(names) <= _NAMED else f"of version {VERSION}"
        raise InputError(f"The {what} must have the entries {listed}, and no others.")
    return data


def _reference(data: object) -> Reference:
    own = _entries(data, "recording", "path", "sha256", "size")
    path, sha256, size = own["path"], own["sha256"], own["size"]
    if not _is_text(path, _LONGEST_PATH):
        raise InputError("The recording has no path.")
    if not (isinstance(sha256, str) and SHA256.fullmatch(sha256)):
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
    numbers = {name: float(own[name]) for name in _NUMBERS if own[name] is not None}
    return Settings(**{**own, **numbers})


def folder_below(data: object) -> str:
    """Read a folder below the project's own: a file from elsewhere must not choose any other to write to.

    Raises
    ------
    InputError
        If it is any other.
    """
    parts = PurePosixPath(data).parts if isinstance(data, str) and _is_text(data, _LONGEST_PATH) else ("..",)
    if ".." in parts or parts[:1] == ("/",) or any(set(part) & set("\\:") or is_device(part) for part in parts):
        raise InputError("The folder of the hand-over must be below that of the project.")
    return str(data)


def _is_text(value: object, longest: int) -> bool:
    return isinstance(value, str) and 0 < len(value) <= longest and "\0" not in value
