"""What the file of a take must be before it is read, and which kind it is by its first bytes."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from core.errors import TakeError

Kind = Literal["midi", "aac", "sound"]

LONGEST = 6 * 3600.0
"""Longest take in seconds: far more than is ever played in one go, so a longer one is a damaged file."""

_BYTES = 64


def kind_of(path: Path) -> Kind:
    """Tell the kind of a file by what it holds, whatever its name says.

    Returns
    -------
    {"midi", "aac", "sound"}
        A Standard MIDI File, bare or in a RIFF file; AAC, or an MPEG-4 file that may hold it; anything else, which
        is for the sound library to recognise.

    Raises
    ------
    TakeError
        If there is no such file, or it is empty or may not be read.
    """
    start = _first_bytes(path)
    if start[:4] == b"MThd" or (start[:4] == b"RIFF" and start[8:12] == b"RMID"):
        return "midi"
    # ISO/IEC 14496-12: a box's name follows its size. ISO/IEC 13818-7: an ADTS frame starts with twelve ones and
    # layer 0, which no MPEG audio frame has.
    box = start[4:8] in (b"ftyp", b"moov", b"mdat", b"free", b"wide")
    adts = len(start) > 1 and start[0] == 0xFF and start[1] & 0xF6 == 0xF0
    return "aac" if box or adts else "sound"


def whole_file(path: Path, most: int, what: str) -> bytes:
    """Read all of a file, however large it says it is, and nothing that never ends.

    Parameters
    ----------
    most : int
        Bytes that such a file can have.
    what : str
        What it should be, for the sentence that refuses it.

    Raises
    ------
    TakeError
        If it is no file, may not be read, or is larger.
    """
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise TakeError(f"{path} is a device, not a file: name {what}.")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except TakeError:
        raise
    except (OSError, ValueError) as error:
        raise cannot_read(path, error) from error
    if len(data) > most:
        raise TakeError(f"{path} is larger than the {most >> 20} MB that {what} can have.")
    return data


def cannot_read(path: Path, error: OSError | ValueError) -> TakeError:
    """Say in one sentence why the system did not let a file be read."""
    if isinstance(error, FileNotFoundError | NotADirectoryError | ValueError):
        return TakeError(f"{path} does not exist: check the name and the folder.")
    if isinstance(error, IsADirectoryError):
        return TakeError(f"{path} is a folder: name the MIDI or audio file in it.")
    if isinstance(error, PermissionError):
        return TakeError(f"{path} may not be read: allow reading it, or copy it to a folder of your own.")
    return TakeError(f"{path} cannot be read ({error.strerror or error}): copy it to another disk and try again.")


def _first_bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise IsADirectoryError
        if path.exists() and not path.is_file():
            raise TakeError(f"{path} is a device, not a file: name a MIDI or audio file.")
        with path.open("rb") as file:
            start = file.read(_BYTES)
    except TakeError:
        raise
    except (OSError, ValueError) as error:
        raise cannot_read(path, error) from error
    if not start:
        raise TakeError(f"{path} is empty: export or copy the take again.")
    return start
