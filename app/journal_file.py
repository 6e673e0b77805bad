"""One journal on disk, and the thread that has what was written to it flushed."""

from __future__ import annotations

import os
import secrets
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Condition, Lock, Thread

from PySide6.QtCore import QLockFile

from app.private import new_file, private_folder, taken
from core.errors import InputError
from core.journal import Kept, Record, begun, read_journal, sealed
from core.safe_write import flush_folder

ENDING = ".journal"

ROOM = 4 * 2**20
"""Bytes that a journal may grow by before it is begun anew."""


class JournalFile:
    """A journal that belongs to this process for as long as it is open.

    What was added is with the system at once, so that it survives the end of this process; `flush` has it on disk,
    so that it survives that of the machine.
    """

    def __init__(self, path: Path, lock: QLockFile) -> None:
        self.path = path
        self._lock = lock
        self._file: int | None = None
        self._swap = Lock()
        self._sum = self._grown = 0

    @classmethod
    def new(cls, folder: Path) -> JournalFile:
        """Name a journal that is not there yet.

        Raises
        ------
        OSError
            If its folder cannot be made.
        """
        private_folder(folder)
        while True:
            path = folder / f"{time.strftime('%Y%m%d-%H%M%S')}-{secrets.token_hex(4)}{ENDING}"
            if not path.exists() and (lock := taken(path)) is not None:
                return cls(path, lock)

    @classmethod
    def found(cls, path: Path) -> JournalFile | None:
        """Take over a journal that is there; None where another process writes it."""
        lock = taken(path)
        return None if lock is None else cls(path, lock)

    @property
    def begun(self) -> bool:
        """Whether anything can be added."""
        return self._file is not None

    @property
    def full(self) -> bool:
        """Whether it should be begun anew."""
        return self._grown > ROOM

    def read(self) -> Kept:
        """Read what it holds.

        Raises
        ------
        InputError
            If that is no journal.
        """
        try:
            return read_journal(self.path.read_bytes())
        except OSError as error:
            raise InputError(f"The journal cannot be read ({error.strerror}).") from error

    def begin(self, kept: Kept) -> None:
        """Begin it, or begin it anew: the one before holds until this one is whole.

        Raises
        ------
        OSError
            If it cannot be written.
        """
        line, total = sealed(begun(kept))
        beside = self.path.with_suffix(".part")
        # The lock is ours, so nobody else's: what is there was left by a fall.
        beside.unlink(missing_ok=True)
        opened = new_file(beside)
        try:
            _write(opened, line)
            if self.path.exists():
                os.fsync(opened)
        finally:
            os.close(opened)
        self._close()
        os.replace(beside, self.path)
        with self._swap:
            self._file = os.open(self.path, os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0))
        self._sum, self._grown = total, 0

    def add(self, record: Record) -> None:
        """Add a line.

        Raises
        ------
        OSError
            If it cannot be written; the journal can only be begun anew then.
        """
        if self._file is None:
            raise OSError("The journal is not begun.")
        line, total = sealed(record, self._sum)
        try:
            _write(self._file, line)
        except OSError:
            # Half a line may stand there, and nothing after it would be believed.
            self._close()
            raise
        self._sum = total
        self._grown += len(line)

    def flush(self) -> None:
        """Wait until all of it is on disk; may be called from another thread.

        Raises
        ------
        OSError
            If that fails.
        """
        with self._swap:
            if self._file is not None:
                os.fsync(self._file)
        flush_folder(self.path.parent)

    def remove(self) -> None:
        """Take it away: what it holds is safe elsewhere, or not wanted any more."""
        self._close()
        for path in (self.path, self.path.with_suffix(".part")):
            with suppress(OSError):
                path.unlink(missing_ok=True)
        self._lock.unlock()

    def leave(self) -> None:
        """Close it and let it lie, to be offered at the next start."""
        self._close()
        self._lock.unlock()

    def set_aside(self) -> Path:
        """Keep what cannot be read under another name, and say which."""
        aside = self.path.with_suffix(".unreadable")
        with suppress(OSError):
            os.replace(self.path, aside)
        self._lock.unlock()
        return aside

    def _close(self) -> None:
        with self._swap:
            if self._file is not None:
                os.close(self._file)
                self._file = None


class Flusher:
    """A thread that flushes the journal written last; several lines are flushed together.

    Parameters
    ----------
    failed : callable
        Called in that thread with the OSError of a flush that failed.
    """

    def __init__(self, failed: Callable[[OSError], object]) -> None:
        self._failed = failed
        self._wanted: JournalFile | None = None
        self._ending = False
        self._news = Condition()
        self._thread: Thread | None = None

    def flush(self, journal: JournalFile) -> None:
        """Have a journal flushed; returns at once."""
        with self._news:
            self._wanted = journal
            self._news.notify()
        if self._thread is None:
            self._thread = Thread(target=self._run, name="journal")
            self._thread.start()

    def stop(self) -> None:
        """Flush what is still to be flushed, and end the thread."""
        if self._thread is not None:
            with self._news:
                self._ending = True
                self._news.notify()
            self._thread.join()
            self._thread, self._ending = None, False

    def _run(self) -> None:
        while True:
            with self._news:
                self._news.wait_for(lambda: self._wanted is not None or self._ending)
                journal, self._wanted = self._wanted, None
            if journal is None:
                return
            try:
                journal.flush()
            except OSError as error:
                self._failed(error)


def _write(opened: int, data: bytes) -> None:
    while data:
        data = data[os.write(opened, data) :]
