"""Which projects this window may write: one at a time, in all windows, on all machines that share the folder."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QLockFile, QSysInfo

from app.private import taken
from core.project_file import previous
from core.safe_write import sweep


def lock_name(path: Path) -> Path:
    """File beside a project that says who has it open; it holds the process, the program and the machine."""
    real = path.resolve()
    return real.with_name(f".{real.name}.lock")


class Claims:
    """Holds the locks of projects."""

    def __init__(self) -> None:
        self._locks: dict[Path, QLockFile] = {}

    def claim(self, path: Path) -> str:
        """Take a project for this window, and clear up what a fall has left beside it.

        Returns
        -------
        str
            Who has it open; empty where this window has it now.
        """
        real = path.resolve()
        if real in self._locks:
            return ""
        lock = taken(real.with_name(f".{real.name}"))
        if lock is None:
            return _owner(real)
        self._locks[real] = lock
        for file in (real, previous(real)):
            sweep(file)
        return ""

    def seize(self, path: Path) -> None:
        """Take a project whoever has it: the musician says that nobody has any more."""
        with suppress(OSError):
            lock_name(path).unlink(missing_ok=True)
        self.claim(path)

    def keep(self, paths: Iterable[Path]) -> None:
        """Let go of all projects but these."""
        wanted = {path.resolve() for path in paths}
        for path in [path for path in self._locks if path not in wanted]:
            self._locks.pop(path).unlock()


def _owner(real: Path) -> str:
    """Who has a project open, in words; empty where no lock can be had there at all, as in a read-only folder."""
    lock = QLockFile(str(lock_name(real)))
    number, machine, _ = lock.getLockInfo()
    if not number:
        return ""
    here = not machine or machine == QSysInfo.machineHostName()
    return "another window of Barwright" if here else f"Barwright on the computer “{machine}”"
