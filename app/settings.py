"""What is remembered from one day to the next: preferences, keys, recent takes, how the window lay."""

from __future__ import annotations

import contextlib
import os
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from PySide6.QtCore import QByteArray, QSettings

from app.private import private_folder, state_folder
from app.sound.choices import SoundChoices
from core.tap_bias import Habit

RECENT = 12
"""Takes that are remembered."""

APPEARANCES = {"system": "Follow the system", "light": "Light", "dark": "Dark"}
"""What the window can look like, and in words."""

NUDGES = (1, 5, 20)
"""Milliseconds a line is nudged by: the small, the middle and the large step."""


@dataclass(frozen=True, slots=True)
class Preferences:
    """What the musician can choose.

    Parameters
    ----------
    appearance : str
        ``"system"``, ``"light"`` or ``"dark"``.
    snap : bool
        Whether a dragged line goes to a near onset unless asked not to.
    doubtful : int
        Bar lines in the list of the least sure ones.
    small, middle, large : int
        Milliseconds of the three nudges.
    output : str
        Name of the output that sound goes to; empty for the system's usual one.
    """

    appearance: str = "system"
    snap: bool = True
    doubtful: int = 30
    small: int = NUDGES[0]
    middle: int = NUDGES[1]
    large: int = NUDGES[2]
    output: str = ""


class Settings:
    """One file in the user's own folder, readable by the user alone since it tells which takes there are.

    Parameters
    ----------
    path : Path or None
        The file; the usual place of the system when left out.
    """

    def __init__(self, path: Path | None = None) -> None:
        ini = QSettings.Format.IniFormat
        if path is None:
            self._store = QSettings(ini, QSettings.Scope.UserScope, "Barwright", "Barwright")
            with contextlib.suppress(OSError):
                private_folder(Path(self._store.fileName()).parent)
        else:
            self._store = QSettings(str(path), ini)
        _make_private(Path(self._store.fileName()))
        self.state_folder = state_folder() if path is None else path.absolute().parent / "state"
        """Where journals and logs lie."""
        with contextlib.suppress(OSError):
            private_folder(self.state_folder)

    def save(self) -> None:
        """Write what has changed."""
        self._store.sync()
        with contextlib.suppress(OSError):
            Path(self._store.fileName()).chmod(0o600)

    def _kept(self, group: str, usual: Preferences | SoundChoices) -> dict[str, Any]:
        """What is kept of a set of choices; what is missing or cannot be read is left out."""
        chosen: dict[str, Any] = {}
        for item in fields(usual):
            value = getattr(usual, item.name)
            with contextlib.suppress(TypeError, ValueError):
                text = str(self._store.value(f"{group}/{item.name}", value))
                chosen[item.name] = text in ("true", "True") if isinstance(value, bool) else type(value)(text)
        return chosen

    def _keep(self, group: str, choices: Preferences | SoundChoices) -> None:
        for name, value in asdict(choices).items():
            self._store.setValue(f"{group}/{name}", value)
        self.save()

    @property
    def preferences(self) -> Preferences:
        """The choices; what is missing or cannot be read is as it comes."""
        chosen = self._kept("preferences", Preferences())
        if chosen["appearance"] not in APPEARANCES:
            del chosen["appearance"]
        return Preferences(**chosen)

    @preferences.setter
    def preferences(self, preferences: Preferences) -> None:
        self._keep("preferences", preferences)

    @property
    def sound(self) -> SoundChoices:
        """How takes were played last."""
        return SoundChoices(**self._kept("sound", SoundChoices()))

    @sound.setter
    def sound(self, choices: SoundChoices) -> None:
        self._keep("sound", choices)

    @property
    def keys(self) -> dict[str, list[str]]:
        """Keys that were chosen anew, by the id of their command; an empty list for none."""
        self._store.beginGroup("keys")
        chosen = {name: str(self._store.value(name, "")).split() for name in self._store.childKeys()}
        self._store.endGroup()
        return chosen

    @keys.setter
    def keys(self, keys: dict[str, list[str]]) -> None:
        self._store.remove("keys")
        for name, sequences in keys.items():
            self._store.setValue(f"keys/{name}", " ".join(sequences))
        self.save()

    @property
    def recent(self) -> tuple[Path, ...]:
        """Takes opened last, the latest first; those that are gone are left out."""
        size = self._store.beginReadArray("recent")
        paths = []
        for i in range(size):
            self._store.setArrayIndex(i)
            paths.append(Path(str(self._store.value("path", ""))))
        self._store.endArray()
        return tuple(path for path in paths if path.is_file())

    def remember_take(self, path: Path) -> None:
        """Put a take at the head of the recent ones."""
        path = path.absolute()
        self._keep_recent([path, *(other for other in self.recent if other != path)][:RECENT])

    def forget_takes(self) -> None:
        """Empty the list of recent takes."""
        self._keep_recent([])

    def _keep_recent(self, paths: list[Path]) -> None:
        self._store.remove("recent")
        self._store.beginWriteArray("recent", len(paths))
        for i, path in enumerate(paths):
            self._store.setArrayIndex(i)
            self._store.setValue("path", str(path))
        self._store.endArray()
        self.save()

    @property
    def habit(self) -> Habit | None:
        """How early or late this person taps on this machine; None until it was measured."""
        try:
            bias, spread, sure = (float(part) for part in self.tapping("habit").split())
        except ValueError:
            return None
        return Habit(bias, spread, sure) if abs(bias) < 0.5 and 0 < spread < 0.5 and 0 < sure < 0.5 else None

    @habit.setter
    def habit(self, habit: Habit | None) -> None:
        words = "" if habit is None else f"{habit.bias:.6f} {habit.spread:.6f} {habit.sure:.6f}"
        self.remember_tapping("habit", words)

    def tapping(self, name: str) -> str:
        """A word on how taps come in; empty at first."""
        return str(self._store.value(f"tapping/{name}", ""))

    def remember_tapping(self, name: str, words: str) -> None:
        """Keep it."""
        self._store.setValue(f"tapping/{name}", words)
        self.save()

    def folder(self, purpose: str) -> Path:
        """Folder used last for a purpose; the home folder at first."""
        kept = str(self._store.value(f"folders/{purpose}", ""))
        return Path(kept) if kept and Path(kept).is_dir() else Path.home()

    def remember_folder(self, purpose: str, folder: Path) -> None:
        """Begin there next time."""
        self._store.setValue(f"folders/{purpose}", str(folder.absolute()))

    def layout(self, name: str) -> QByteArray | None:
        """How a part of the window lay, as Qt packs it, or None."""
        value = self._store.value(f"layout/{name}")
        return value if isinstance(value, QByteArray) else None

    def remember_layout(self, name: str, value: QByteArray) -> None:
        """Keep how a part of the window lies."""
        self._store.setValue(f"layout/{name}", value)

    def text(self, name: str, usual: str) -> str:
        """A word kept under a name."""
        return str(self._store.value(f"layout/{name}", usual))

    def remember_text(self, name: str, value: str) -> None:
        """Keep a word under a name."""
        self._store.setValue(f"layout/{name}", value)

    def forget_layout(self) -> None:
        """Let the window lie as it did on the first day."""
        self._store.remove("layout")
        self.save()


def _make_private(path: Path) -> None:
    """Let only the user read a file, before anything is in it; what Qt writes there later keeps the rights."""
    with contextlib.suppress(OSError):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT, 0o600))
        path.chmod(0o600)
