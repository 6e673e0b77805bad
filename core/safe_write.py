"""Writing a file so that it is whole or not there: beside it, flushed, checked, then put in its place."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from core.errors import HandoverError

T = TypeVar("T")

_CAUSES = {
    errno.ENOSPC: "the disk is full; free some space and try again",
    errno.EDQUOT: "your share of the disk is used up; free some space and try again",
    errno.EACCES: "writing is not allowed there; choose another folder",
    errno.EPERM: "writing is not allowed there; choose another folder",
    errno.EROFS: "the disk is read-only; choose another folder",
    errno.ENOENT: "its folder does not exist; make it first or choose another",
    errno.ENOTDIR: "its folder is not a folder; choose another",
    errno.EISDIR: "that is a folder; give a file name",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
}


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


def safe_write(path: Path, data: bytes, *, check: Callable[[Path], T], overwrite: bool = False) -> T:
    """Write a file completely or not at all; what stood there before stays until the new one is good.

    Parameters
    ----------
    path : Path
        Where the file goes; its folder must exist.
    data : bytes
        All of it.
    check : callable
        Reads the finished file under its provisional name. If it raises, the file is thrown away.
    overwrite : bool
        Whether a file of that name may be replaced.

    Returns
    -------
    object
        Whatever `check` returned.

    Raises
    ------
    HandoverError
        If the file exists (and `overwrite` is false) or cannot be written.
    """
    if not overwrite:
        refuse_existing(path)
    beside = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}.part")
    try:
        try:
            with beside.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            answer = check(beside)
            if not overwrite:
                refuse_existing(path)
            os.replace(beside, path)
        except BaseException:
            with suppress(OSError):
                beside.unlink(missing_ok=True)
            raise
    except HandoverError:
        raise
    except OSError as error:
        cause = _CAUSES.get(error.errno or 0, f"{error.strerror or error}; choose another place")
        raise HandoverError(f"{path} was not written: {cause}.") from error
    return answer
