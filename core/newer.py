"""What can be read of a project of a newer version: entries known here are kept, the others named and left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, asdict, fields, is_dataclass
from typing import Any, get_args, get_origin, get_type_hints

from core.document import Document
from core.edit_codec import EDITS, edit_from_json
from core.errors import InputError
from core.handover_settings import Settings

_WHOLE = ("format", "version", "recording", "document", "history", "handover")
_RECORDING = ("path", "sha256", "size")
_HISTORY, _HANDOVER = ("first", "edits", "at"), ("settings", "folder")
_STEPS = "the steps that led to it"


def made_older(whole: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Leave out of a newer project whatever this version does not know.

    Parameters
    ----------
    whole : mapping
        The project as JSON values.

    Returns
    -------
    dict
        The same with the entries of this version, to be read strictly.
    tuple of str
        What was left out, in words, each once.
    """
    lost: dict[str, None] = {}
    own = _only(whole, _WHOLE, lost)
    own["recording"] = _only(own.get("recording"), _RECORDING, lost)
    own["document"] = _known(Document, own.get("document"), lost)
    own["history"] = _history(own.get("history"), own["document"], lost)
    handover = _only(own.get("handover", dict.fromkeys(_HANDOVER)), _HANDOVER, lost)
    if isinstance(handover, dict) and isinstance(settings := handover.get("settings"), dict):
        usual = asdict(Settings(name=str(settings.get("name", ""))))
        handover["settings"] = usual | _only(settings, tuple(usual), lost)
    own["handover"] = handover
    return own, tuple(lost)


def _only(data: Any, names: tuple[str, ...], lost: dict[str, None]) -> Any:
    if not isinstance(data, Mapping):
        return data
    lost.update(dict.fromkeys(_words(name) for name in data if name not in names))
    return {name: data[name] for name in names if name in data}


def _known(kind: Any, data: Any, lost: dict[str, None]) -> Any:
    """Keep what a type has, and give what is missing the value it had before anybody could say otherwise."""
    if is_dataclass(kind) and isinstance(data, Mapping):
        types = get_type_hints(kind)
        known = {name: _known(types[name], each, lost) for name, each in _only(data, tuple(types), lost).items()}
        for field in fields(kind):
            if field.name not in known and field.default is not MISSING:
                known[field.name] = list(field.default) if isinstance(field.default, tuple) else field.default
        return known
    if get_origin(kind) is tuple and isinstance(data, list) and get_args(kind)[-1] is Ellipsis:
        return [_known(get_args(kind)[0], each, lost) for each in data]
    options = [each for each in get_args(kind) if is_dataclass(each)]
    return _known(options[0], data, lost) if options and isinstance(data, Mapping) else data


def _history(data: Any, document: Any, lost: dict[str, None]) -> Any:
    """The history where every step of it is known; else none, for a step left out would lead elsewhere."""
    history = _only(data, _HISTORY, lost)
    if isinstance(history, Mapping) and isinstance(edits := history.get("edits"), list):
        gone: dict[str, None] = {}
        own = [
            {"edit": edit["edit"], **_known(EDITS[edit["edit"]], _without_name(edit), gone)}
            for edit in edits
            if isinstance(edit, Mapping) and isinstance(edit.get("edit"), str) and edit["edit"] in EDITS
        ]
        first = _known(Document, history.get("first"), gone)
        if not gone and len(own) == len(edits) and all(map(_can_be_read, own)):
            return {**history, "first": first, "edits": own}
    lost[_STEPS] = None
    return {"first": document, "edits": [], "at": 0}


def _without_name(edit: Mapping[str, Any]) -> dict[str, Any]:
    return {name: each for name, each in edit.items() if name != "edit"}


def _can_be_read(edit: Mapping[str, Any]) -> bool:
    try:
        edit_from_json(edit)
    except InputError:
        return False
    return True


def _words(name: object) -> str:
    text = str(name).replace("_", " ")
    return f"“{text[:40]}”"
