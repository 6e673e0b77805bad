"""Values of a hand-over: what is planned, what is at hand while it is written, and what has been written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import numpy as np

from core.document import Section
from core.fit import Fit
from core.grid import Grid
from core.handover_settings import Kind, Settings
from core.heard import Source, Told
from core.read_back import ReadBack
from core.session import Caution, Session
from core.session_sound import InSession


@dataclass(slots=True)
class Making:
    """What is at hand while files are written, one after the other.

    Parameters
    ----------
    plan : Plan
        What is written.
    sound : InSession or None
        The take in its session, where a file needs it.
    gain : float
        Factor that keeps the take below its ceiling; 1 at most.
    told : callable
        Told the share of the present file that is done, 0 to 1.
    read_back : ReadBack or None
        Of the tempo map, once that is written.
    done : list of WrittenFile
        Files written so far.
    """

    plan: Plan
    sound: InSession | None
    gain: float
    told: Told
    read_back: ReadBack | None = None
    done: list[WrittenFile] = field(default_factory=list)


Make = Callable[[BinaryIO, Making], object]
"""Writes one file."""


@dataclass(frozen=True, slots=True)
class PlannedFile:
    """A file to be written: its name, what it holds in words, and all its bytes or what will make them."""

    kind: Kind
    name: str
    holds: str
    data: bytes | None = None
    make: Make | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """A hand-over worked out and not yet written.

    Parameters
    ----------
    settings : Settings
        What was asked for.
    grid : Grid
        Bar lines and beats it was made from.
    fit : Fit
        The tempo map in the time of the take, and how far it is from each bar line.
    session : Session
        Where map and recording lie in the sequencer.
    sections : tuple of Section
        In order of bars.
    files : tuple of PlannedFile
        The tempo map first.
    source : Source or None
        Where the take's sound comes from; None where no file holds it.
    tempi : int
        Tempo events in the MIDI file.
    note_rounding : float or None
        Largest distance in seconds between a note as played and as written; None where none go along.
    steady_tempo : float or None
        Quarters a minute of the steady version, as a MIDI file says them; None without one.
    cautions : tuple of Caution
        What the musician should know before using it.
    """

    settings: Settings
    grid: Grid
    fit: Fit
    session: Session
    sections: tuple[Section, ...]
    files: tuple[PlannedFile, ...]
    source: Source | None
    tempi: int
    note_rounding: float | None
    steady_tempo: float | None
    cautions: tuple[Caution, ...]

    @property
    def placing(self) -> str:
        """One sentence that says where to put the take and how the bars are numbered."""
        if not self.settings.sound:
            return self.session.placing
        name = self.settings.file_name("sound")
        return f"Put {name} at the very start of the session; {self.session.counting}."

    @property
    def worst(self) -> float:
        """Seconds between the tempo map and the bar line it is farthest from."""
        return float(np.max(np.abs(self.fit.bar_errors)))

    @property
    def worst_bar(self) -> int:
        """Bar of the take whose bar line that is."""
        return self.grid.bar_lines[int(np.argmax(np.abs(self.fit.bar_errors)))].bar


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """A file on disk.

    Parameters
    ----------
    kind : str
    path : Path
    size : int
        Bytes.
    sha256 : str or None
        In hexadecimal digits; None where no list of files was asked for.
    """

    kind: Kind
    path: Path
    size: int
    sha256: str | None


@dataclass(frozen=True, slots=True)
class Written:
    """A hand-over on disk.

    Parameters
    ----------
    files : tuple of WrittenFile
        The tempo map first.
    read_back : ReadBack
        The written map compared with what it should say.
    gain_db : float or None
        Decibels by which the take was turned down in its sound files, 0 or below; None without such a file.
    """

    files: tuple[WrittenFile, ...]
    read_back: ReadBack
    gain_db: float | None = None

    @property
    def map_path(self) -> Path:
        """Where the tempo map is."""
        return self.files[0].path


def counted(number: int, one: str, many: str = "") -> str:
    """Say a number of things."""
    return f"{number} {one if number == 1 else many or one + 's'}"
