"""Edits and documents as plain JSON values and back, strictly: what is not exactly as written here is refused.

A value is an object of its fields by name, a tuple an array, a fraction the text ``"3/2"``; an edit says with
``edit`` which one it is. Types come from the dataclasses themselves, so there is one place that says what a
document holds. Nothing read decides what code runs.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from core import edits
from core.document import Document
from core.edits import Edit
from core.errors import InputError
from core.numbering import LONGEST_NAME, valid

MOST = 100_000
"""Entries a list can have; a day of music has fewer bars."""

GREATEST = 1_000_000
"""No whole number, and no number of seconds, can be beyond this."""

EDITS: dict[str, type] = {
    "place": edits.Place,
    "nudge": edits.Nudge,
    "let_go": edits.LetGo,
    "accept": edits.Accept,
    "insert": edits.Insert,
    "take_out": edits.TakeOut,
    "shift_beats": edits.ShiftBeats,
    "halve_bars": edits.HalveBars,
    "double_bars": edits.DoubleBars,
    "change_metre": edits.ChangeMetre,
    "mark_pickup": edits.MarkPickup,
    "mark_free": edits.MarkFree,
    "unmark_free": edits.UnmarkFree,
    "mark_hold": edits.MarkHold,
    "renumber": edits.Renumber,
    "count_from": edits.CountFrom,
    "name_section": edits.NameSection,
    "remove_section": edits.RemoveSection,
    "move_section": edits.MoveSection,
    "dress_section": edits.DressSection,
    "name_sections": edits.NameSections,
    "keep_taps": edits.KeepTaps,
    "mean_taps": edits.MeanTaps,
    "accept_taps": edits.AcceptTaps,
    "drop_taps": edits.DropTaps,
    "leave_out": edits.LeaveOut,
    "keep_only": edits.KeepOnly,
    "bring_back": edits.BringBack,
    "divide": edits.Divide,
    "move_passage": edits.MovePassage,
    "tighten": edits.Tighten,
    "remove_notes": edits.RemoveNotes,
    "move_notes": edits.MoveNotes,
    "set_velocities": edits.SetVelocities,
    "restore_notes": edits.RestoreNotes,
}
"""Every edit by the name it is written with."""

_NAMES = {kind: name for name, kind in EDITS.items()}
_FRACTION = re.compile(r"-?[0-9]{1,6}/[1-9][0-9]{0,5}")


def edit_to_json(edit: Edit) -> dict[str, Any]:
    """Write an edit as a JSON object."""
    return {"edit": _NAMES[type(edit)], **_written(edit)}


def edit_from_json(data: object) -> Edit:
    """Read an edit from a JSON object.

    Raises
    ------
    InputError
        If it is not exactly an edit as `edit_to_json` writes it.
    """
    kind = data.get("edit") if isinstance(data, dict) else None
    if not isinstance(data, dict) or not isinstance(kind, str) or kind not in EDITS:
        raise InputError(f"This is no edit that this version knows: {_short(kind if kind is not None else data)}.")
    own = {key: value for key, value in data.items() if key != "edit"}
    edit: Edit = _read(EDITS[kind], own, f"edit {kind}")
    return edit


def document_to_json(document: Document) -> dict[str, Any]:
    """Write a document as a JSON object."""
    written: dict[str, Any] = _written(document)
    return written


def document_from_json(data: object) -> Document:
    """Read a document from a JSON object.

    Raises
    ------
    InputError
        If it is not exactly a document as `document_to_json` writes it, or contradicts itself.
    """
    document: Document = _read(Document, data, "document")
    return valid(document)


def _written(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _written(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_written(item) for item in value]
    if isinstance(value, Fraction):
        return f"{value.numerator}/{value.denominator}"
    return value


def _read(kind: Any, data: object, where: str) -> Any:
    """Read a value of a type; `where` names its place for the sentence that refuses it."""
    if is_dataclass(kind):
        return _read_object(kind, data, where)
    if get_origin(kind) is tuple:
        return _read_list(get_args(kind), data, where)
    options = get_args(kind)
    if NoneType in options:
        return None if data is None else _read(next(k for k in options if k is not NoneType), data, where)
    return _read_plain(kind, data, where)


def _read_object(kind: Any, data: object, where: str) -> Any:
    types = _types(kind)
    if not isinstance(data, dict):
        raise InputError(f"The {where} must be an object, not {_short(data)}.")
    for key in types:
        if key not in data:
            raise InputError(f"The {where} has no {key}.")
    for key in data:
        if key not in types:
            raise InputError(f"The {where} has an entry that this version does not know: {_short(key)}.")
    return kind(**{key: _read(types[key], data[key], f"{key} of the {where}") for key in types})


def _read_list(kinds: tuple[Any, ...], data: object, where: str) -> tuple[Any, ...]:
    if not isinstance(data, list):
        raise InputError(f"The {where} must be a list, not {_short(data)}.")
    if len(data) > MOST:
        raise InputError(f"The {where} has {len(data)} entries; {MOST} is the most that can be.")
    if kinds[-1] is Ellipsis:
        return tuple(_read(kinds[0], item, f"entry {i} in {where}") for i, item in enumerate(data, 1))
    if len(data) != len(kinds):
        raise InputError(f"The {where} must have {len(kinds)} entries, not {len(data)}.")
    return tuple(_read(kind, item, where) for kind, item in zip(kinds, data, strict=True))


def _read_plain(kind: Any, data: object, where: str) -> Any:
    number = isinstance(data, int | float) and not isinstance(data, bool)
    if kind is bool and isinstance(data, bool):
        return data
    if kind is int and number and isinstance(data, int) and abs(data) <= GREATEST:
        return data
    if kind is float and number and isinstance(data, int | float) and abs(data) <= GREATEST:
        return float(data)
    if kind is str and isinstance(data, str) and len(data) <= LONGEST_NAME:
        return data
    if kind is Fraction and isinstance(data, str) and _FRACTION.fullmatch(data):
        return Fraction(data)
    wanted = {
        bool: "true or false",
        int: "a whole number",
        float: "a number",
        str: f"a text of {LONGEST_NAME} characters at most",
        Fraction: "a fraction like 3/2",
    }
    raise InputError(f"The {where} must be {wanted[kind]} within bounds, not {_short(data)}.")


@cache
def _types(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _short(data: object) -> str:
    """What was found, without repeating a whole file."""
    if isinstance(data, dict | list):
        return "a list" if isinstance(data, list) else "an object"
    text = repr(data) if not isinstance(data, int) or abs(data) < 10**12 else "a huge number"
    return text if len(text) <= 40 else text[:40] + "..."
