"""Where the app keeps what it must not lose, in files that the user alone may read, and who may write them."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from pathlib import Path
from weakref import WeakSet

from PySide6.QtCore import QLockFile, QStandardPaths

TORN = 5.0
"""Seconds after which a lock that says nothing is no new one."""


def state_folder() -> Path:
    """The folder the system gives the app for what it keeps between two starts."""
    # Not the place that goes with the name of the running program: without one it is that of all programs.
    place = QStandardPaths.StandardLocation.GenericStateLocation
    return Path(QStandardPaths.writableLocation(place)) / "Barwright"


def private_folder(path: Path) -> Path:
    """Make a folder, or make it one, that the user alone may look into, and the files in it.

    Raises
    ------
    OSError
        If it cannot be made.
    """
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    # It may have been made by hand, or by another program.
    path.chmod(0o700)
    for file in path.iterdir():
        # A file of another window may go meanwhile.
        with suppress(OSError):
            if file.is_file() and not file.is_symlink():
                file.chmod(0o600)
    return path


def new_file(path: Path) -> int:
    """Make a file that the user alone may read, open for adding to its end; never one that is there already.

    Raises
    ------
    OSError
        If it cannot be made.
    """
    return os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)


def taken(path: Path) -> QLockFile | None:
    """Take a file for this process alone, for as long as the lock lives; None where another process has it.

    A lock left by a process that is gone, or from before the machine was started, is taken over.
    """
    lock = QLockFile(f"{path}.lock")
    # By its age alone none is stale: a session may last for days.
    lock.setStaleLockTime(0)
    if not lock.tryLock(0):
        if not _left_behind(lock):
            return None
        with suppress(OSError):
            Path(lock.fileName()).unlink(missing_ok=True)
        if not lock.tryLock(0):
            return None
    _held.add(lock)
    return lock


_held: WeakSet[QLockFile] = WeakSet()


def _left_behind(lock: QLockFile) -> bool:
    """Whether a lock is of no process, where Qt cannot know: torn, or of a process that had our number before."""
    file = Path(lock.fileName())
    number, *_ = lock.getLockInfo()
    if number == os.getpid():
        return not any(other.isLocked() and other.fileName() == lock.fileName() for other in _held)
    try:
        # A new lock is empty for an instant, an old one only where the machine fell while it was written.
        return number == 0 and time.time() - file.stat().st_mtime > TORN
    except OSError:
        return False


def without_home(text: str) -> str:
    """Leave out whose machine it is: the way to the home folder is the same for everybody as ``~``."""
    with suppress(RuntimeError):
        home = str(Path.home())
        if len(home) > 1:
            return text.replace(home, "~")
    return text
