"""A take from whichever file it came in."""

from __future__ import annotations

from pathlib import Path

from core.read_audio import open_audio
from core.read_midi import read_midi
from core.take import Take
from core.take_file import kind_of


def read_take(path: Path) -> Take:
    """Read a MIDI file, or look at an audio file; what it holds decides, not its name.

    Raises
    ------
    TakeError
        If the file cannot be read or holds nothing to map.
    MissingLibraryError
        If it holds AAC and the package that reads it is not installed.
    """
    return read_midi(path) if kind_of(path) == "midi" else open_audio(path)
