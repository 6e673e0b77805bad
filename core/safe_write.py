"""Writing files so that all of them are whole or nothing has changed.

Each is written beside its place, flushed and checked. Only when all are good do they move to their places, and
what stood there is put back if a move fails.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
import stat
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from core.errors import HandoverError

_CAUSES = {
    errno.ENOSPC: "the disk is full; free some space and try again",
    errno.EDQUOT: "your share of the disk is used up; free some space and try again",
    errno.EACCES: "writing is not allowed there; choose another folder",
    errno.EPERM: "writing is not allowed there; choose another folder",
    errno.EFBIG: "the disk does not take files of that size; choose another place",
    errno.EROFS: "the disk is read-only; choose another folder",
    errno.ENOENT: "its folder does not exist; make it first or choose another",
    errno.ENOTDIR: "its folder is not a folder; choose another",
    errno.EISDIR: "that is a folder; give a file name",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
}


@dataclass(frozen=True, slots=True)
class NewFile:
    """A file to be written.

    Parameters
    ----------
    path : Path
        Where it goes; its folder must exist.
    data : bytes or callable
        All of it, or what writes it into the file it is given, piece by piece.
    check : callable or None
        Reads the finished file under its provisional name. If it raises, nothing is written.
    like : Path or None
        The file whose rights it gets, where that is there; the one it replaces when left out.
    """

    path: Path
    data: bytes | Callable[[BinaryIO], object]
    check: Callable[[Path], object] | None = None
    like: Path | None = None


def refuse_existing(*paths: Path) -> None:
    """Refuse to go on where a file is already there, before any of a set is written.

    Raises
    ------
    HandoverError
        Naming the first path that exists.
    """
    for path in paths:
        if os.path.lexists(path):
            raise HandoverError(
                f"{path} exists already and was left as it is; ask to overwrite it, or choose another name."
            )


def refuse_given(paths: Iterable[Path], given: Iterable[Path]) -> None:
    """Refuse to write over what was given to be read, whatever is asked for.

    Raises
    ------
    HandoverError
        Naming the first path that is one of the given files.
    """
    sources = [source for source in given if source.exists()]
    for path in paths:
        if path.exists() and any(path.samefile(source) for source in sources):
            raise HandoverError(
                f"{path} was given to be read and is never written over; choose another name or folder."
            )


def safe_write(path: Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write one file completely or not at all, as `write_together` does."""
    write_together([NewFile(path, data)], overwrite=overwrite)


def write_together(files: Sequence[NewFile], *, overwrite: bool = False) -> None:
    """Write a set of files completely or not at all; what stood there before stays until all new ones are good.

    Parameters
    ----------
    files : sequence of NewFile
        Each at a path of its own.
    overwrite : bool
        Whether files of those names may be replaced.

    Raises
    ------
    HandoverError
        If a file exists (and `overwrite` is false), cannot be written, or fails its check. No new file is left
        then, and what was there before is there again.
    """
    if not overwrite:
        refuse_existing(*(file.path for file in files))
    moves = [_Move(file) for file in files]
    try:
        for move in moves:
            move.prepare()
        for move in moves:
            # The last one needs no way back: nothing can fail after it.
            move.make(overwrite=overwrite, reversible=move is not moves[-1])
    except BaseException as error:
        troubles = [trouble for move in reversed(moves) if (trouble := move.undo())]
        if troubles:
            raise HandoverError(f"{error} {' '.join(troubles)}") from error
        raise
    finally:
        for move in moves:
            move.clear()
    for folder in {file.path.parent for file in files}:
        flush_folder(folder)


def flush_folder(folder: Path) -> None:
    """Have the names in a folder on disk too, where the system can: a file is only as safe as its name."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def sweep(path: Path) -> None:
    """Take away what a write of this file left beside it that was ended from outside.

    Only to be called by whoever alone writes the file.
    """
    ours = re.compile(re.escape(f".{path.name[:100]}.") + r"[0-9a-f]{8}\.(part|before)")
    with suppress(OSError):
        # Without the file itself, what it was before is all there is.
        for beside in path.parent.iterdir() if path.exists() else ():
            if ours.fullmatch(beside.name):
                beside.unlink(missing_ok=True)


class _Move:
    """One file on its way to its place, and what stood there before."""

    def __init__(self, file: NewFile) -> None:
        self.file = file
        stem = f".{file.path.name[:100]}.{secrets.token_hex(4)}"
        self.beside = file.path.with_name(f"{stem}.part")
        self.before = file.path.with_name(f"{stem}.before")
        self.replaces = self.done = self.keep = False

    def prepare(self) -> None:
        """Write the file beside its place and check it there."""
        rights = _rights(self.file.like or self.file.path)
        try:
            # Nobody may read on the way what they may not read in its place.
            with open(self.beside, "xb", opener=None if rights is None else _for_us_alone) as file:
                if isinstance(self.file.data, bytes):
                    file.write(self.file.data)
                else:
                    self.file.data(file)
                file.flush()
                if rights is not None:
                    with suppress(OSError):
                        self.beside.chmod(rights)
                os.fsync(file.fileno())
            if self.file.check:
                self.file.check(self.beside)
        except HandoverError:
            raise
        except OSError as error:
            raise _not_written(self.file.path, error) from error

    def make(self, *, overwrite: bool, reversible: bool) -> None:
        """Put the file in its place, keeping a second name of what stands there if it may have to come back."""
        path = self.file.path
        try:
            if not overwrite:
                refuse_existing(path)
            if path.is_dir() and not path.is_symlink():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
            self.replaces = os.path.lexists(path)
            if reversible and self.replaces:
                _second_name(path, self.before)
            os.replace(self.beside, path)
            self.done = True
        except HandoverError:
            raise
        except OSError as error:
            raise _not_written(path, error) from error

    def undo(self) -> str:
        """Put back what stood in the place; where even that fails, return a sentence that says so."""
        path = self.file.path
        try:
            if self.done and self.replaces:
                os.replace(self.before, path)
            elif self.done:
                path.unlink()
        except OSError:
            if not self.replaces:
                return f"{path} could not be taken away again; delete it yourself."
            self.keep = True
            return f"{path} is new already; as it was before it is now called {self.before.name}."
        return ""

    def clear(self) -> None:
        """Leave nothing beside the place."""
        for path in (self.beside,) if self.keep else (self.beside, self.before):
            with suppress(OSError):
                path.unlink(missing_ok=True)


def _rights(path: Path) -> int | None:
    """Who may read and write a file; None where there is none."""
    try:
        return stat.S_IMODE(path.stat().st_mode) & 0o777
    except OSError:
        return None


def _for_us_alone(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _second_name(path: Path, other: Path) -> None:
    """Give what a path holds another name too; a copy where the disk knows no second names."""
    try:
        os.link(path, other, follow_symlinks=False)
    except (OSError, NotImplementedError):
        if not path.is_symlink():
            os.close(_for_us_alone(str(other), os.O_WRONLY | os.O_CREAT | os.O_EXCL))
        shutil.copy2(path, other, follow_symlinks=False)


def _not_written(path: Path, error: OSError) -> HandoverError:
    cause = _CAUSES.get(error.errno or 0, f"{error.strerror or error}; choose another place")
    return HandoverError(f"{path} was not written: {cause}.")
