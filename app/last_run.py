"""Knows at the start how the last run ended: its log is still there where it did not end by itself."""

from __future__ import annotations

import faulthandler
import os
import platform
import secrets
import time
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QLockFile

from app.about import own_version
from app.private import new_file, private_folder, taken, without_home
from app.state import Message

KEPT = 5
"""Logs of runs that fell which are kept."""

LONGEST = 20_000
"""Characters of a log that are offered."""


class LastRun:
    """The log of this run, into which the interpreter writes where every thread was if it is torn down.

    Parameters
    ----------
    folder : Path
        Where the logs of all runs lie.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._path: Path | None = None
        self._log: int | None = None
        self._lock: QLockFile | None = None

    def begin(self) -> Message | None:
        """Begin this run's log.

        Returns
        -------
        Message or None
            How the last run fell, with what can be copied for a report; None where it ended by itself.
        """
        try:
            private_folder(self._folder)
            fallen = self._fallen()
            self._path = self._folder / f"{time.strftime('%Y%m%d-%H%M%S')}-{secrets.token_hex(4)}.run"
            self._lock = taken(self._path)
            self._log = new_file(self._path)
            os.write(self._log, _heading().encode())
            faulthandler.enable(self._log)
        except OSError:
            # Where nothing can be written there is nothing to be told either.
            return None
        return fallen

    def end(self) -> None:
        """End it: this run ended by itself."""
        faulthandler.disable()
        if self._log is not None:
            os.close(self._log)
            self._log = None
        if self._path is not None:
            with suppress(OSError):
                self._path.unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()

    def _fallen(self) -> Message | None:
        told: list[str] = []
        for path in sorted(self._folder.glob("*.run")):
            lock = taken(path)
            if lock is None:
                continue
            with suppress(OSError):
                told.append(path.read_text(encoding="utf-8", errors="replace"))
                os.replace(path, path.with_suffix(".fallen"))
            lock.unlock()
        for old in sorted(self._folder.glob("*.fallen"))[:-KEPT]:
            with suppress(OSError):
                old.unlink()
        if not told:
            return None
        log = without_home(told[-1][:LONGEST]).strip()
        traces = "" if "\n" in log else "\n\nIt left no traces: it was ended from outside, or the machine was."
        sentence = "Barwright did not end by itself last time; the details can be copied for a report."
        return Message(sentence, log + traces, warning=True)


def _heading() -> str:
    began = time.strftime("%Y-%m-%d %H:%M:%S")
    return f"Barwright {own_version()}, Python {platform.python_version()}, {platform.platform()}, {began}\n"
