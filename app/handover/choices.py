"""What is chosen for the hand-over of one take, as values that can be kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from core.errors import InputError
from core.handover_settings import Settings
from core.take import Take


@dataclass(frozen=True, slots=True)
class Choices:
    """The settings, and the folder the files go to."""

    settings: Settings
    folder: Path

    @classmethod
    def usual(cls, take: Take) -> Choices:
        """What a take begins with: its own name, and the folder it lies in."""
        path = take.path.absolute()
        try:
            return cls(Settings(name=path.stem), path.parent)
        except InputError:
            return cls(Settings(name="take"), path.parent)

    def plain(self) -> dict[str, Any]:
        """Words, numbers and truth values alone."""
        return {**asdict(self.settings), "folder": str(self.folder)}

    @classmethod
    def kept(cls, plain: Mapping[str, Any], take: Take) -> Choices:
        """Choices from plain values; the usual ones where they cannot be used."""
        usual = cls.usual(take)
        values = {**asdict(usual.settings), **{k: v for k, v in plain.items() if k in _NAMES}}
        if any(type(values[name]) is not type(value) for name, value in asdict(_ANY).items() if name in _FIRM):
            return usual
        folder = plain.get("folder")
        try:
            return cls(Settings(**values), Path(folder) if isinstance(folder, str) and folder else usual.folder)
        except (InputError, TypeError, AttributeError):
            return usual


_NAMES = {item.name for item in fields(Settings)}
_FIRM = _NAMES - {"lead_in", "key"}
_ANY = Settings(name="any")
