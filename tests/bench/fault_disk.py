"""A disk that fails at one chosen step: every way in which Python asks the system for a file is counted.

After the fault loops of SQLite's tests (sqlite.org/testing.html): the k-th step fails, for k = 1, 2, ... until all
goes through.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

KEPT = ("open", "fsync", "replace", "link", "mkdir", "unlink", "rename", "chmod")
"""Functions of `os` that are stood in front of; what opened files do is counted too."""

_NEEDS_ROOM = {"write", "flush", "close", "fsync", "mkdir", "link", "create"}
"""What fails on a full disk; taking away and renaming go on there."""


class Disk:
    """Counts what is asked of the files below a folder, and fails.

    Parameters
    ----------
    folder : Path
        Only what is asked of files in it is counted.
    fail_at : int
        The step that fails, from 1 on; 0: none.
    number : int
        With which error of `errno`.
    lasting : bool
        Whether all later steps that need the disk fail too.
    vanish : bool
        Instead of failing, the whole folder is moved away at that step.
    """

    def __init__(
        self, folder: Path, fail_at: int, number: int, *, lasting: bool = False, vanish: bool = False
    ) -> None:
        self.folder, self.fail_at, self.number = folder, fail_at, number
        self.lasting, self.vanish = lasting, vanish
        self.made: list[str] = []

    def step(self, what: str, path: object) -> None:
        """Count a step, and fail where it is the one."""
        if not self._inside(path):
            return
        self.made.append(what)
        count = len(self.made)
        if self.vanish:
            if count == self.fail_at:
                self.real_rename(self.folder, self.folder.with_name(f"{self.folder.name} gone"))
            return
        later = self.lasting and 0 < self.fail_at < count
        if count == self.fail_at or (later and (self.number != errno.ENOSPC or what in _NEEDS_ROOM)):
            raise OSError(self.number, os.strerror(self.number), str(path))

    real_rename = staticmethod(os.rename)

    def _inside(self, path: object) -> bool:
        if isinstance(path, int):
            return True
        return os.path.abspath(os.fspath(path)).startswith(str(self.folder) + os.sep)  # type: ignore[call-overload]

    @contextmanager
    def patched(self) -> Iterator[None]:
        """Stand between Python and the system."""
        real_open = io.open
        kept = {name: getattr(os, name) for name in KEPT}

        def opened(path: Any, mode: str = "r", *rest: Any, **named: Any) -> Any:
            if isinstance(path, int) or not self._inside(path):
                return real_open(path, mode, *rest, **named)
            self.step("create" if set(mode) & set("wxa+") else "open", path)
            return _File(real_open(path, mode, *rest, **named), self, path)

        def guard(name: str) -> Callable[..., Any]:
            def call(*given: Any, **named: Any) -> Any:
                self.step("create" if name == "open" and given[1] & os.O_CREAT else name, given[0])
                return kept[name](*given, **named)

            return call

        io.open = builtins.open = opened  # type: ignore[assignment]
        for name in kept:
            setattr(os, name, guard(name))
        try:
            yield
        finally:
            io.open = builtins.open = real_open
            for name, function in kept.items():
                setattr(os, name, function)


class _File:
    """An open file whose every write is a step; a full disk takes the first half of what it refuses."""

    def __init__(self, file: Any, disk: Disk, path: object) -> None:
        self._file, self._disk, self._path = file, disk, path
        self._writes = file.writable()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def __enter__(self) -> _File:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __iter__(self) -> Iterator[Any]:
        return iter(self._file)

    def write(self, data: Any) -> int:
        try:
            self._disk.step("write", self._path)
        except OSError:
            self._file.write(data[: len(data) // 2])
            raise
        return int(self._file.write(data))

    def flush(self) -> None:
        self._disk.step("flush", self._path)
        self._file.flush()

    def close(self) -> None:
        failure = None
        if self._writes and not self._file.closed:
            try:
                self._disk.step("close", self._path)
            except OSError as error:
                failure = error
        self._file.close()
        if failure is not None:
            raise failure
