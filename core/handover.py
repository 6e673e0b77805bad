"""The hand-over of a take: from its grid to everything a sequencer is given.

`plan` works it all out without touching the disk, so that it can be looked at first; `write` writes all of it or
nothing.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from core.errors import InputError
from core.fit import Fit, fit_bars, fit_beats, fit_fewest
from core.grid import Grid
from core.read_back import ReadBack, read_back
from core.safe_write import NewFile, refuse_given, write_together
from core.session import Caution, LeadIn, Marker, Session, check_lead_in, place
from core.smf import key_signature
from core.take import MidiTake
from core.tempo_track import check_division
from core.write_csv import bars_csv, beats_csv
from core.write_midi import map_file

Knots = Literal["bars", "beats", "fewest"]
"""Where the tempo may change: at every bar line, at every beat, or only where the tolerance asks for it."""

Kind = Literal["map", "bars", "beats"]
"""The files of a hand-over."""

_ENDINGS: dict[Kind, str] = {"map": "tempo-map.mid", "bars": "bars.csv", "beats": "beats.csv"}

_WINDOWS = os.name == "nt"

_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"}
_DEVICES |= {f"{port}{number}" for port in ("com", "lpt") for number in "123456789\u00b9\u00b2\u00b3"}


def is_device(name: str) -> bool:
    """Whether this system takes a file's name for a device, whatever its ending.

    Source: learn.microsoft.com, "Naming Files, Paths, and Namespaces".
    """
    return _WINDOWS and name.partition(".")[0].rstrip().lower() in _DEVICES


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the musician chooses for a hand-over.

    Parameters
    ----------
    name : str
        The files begin with it, and the map's first track is called by it.
    knots : str
        Where the tempo changes: ``"bars"``, ``"beats"`` or ``"fewest"``.
    tolerance : float
        Seconds a suggested bar line may be off with the fewest knots; above 0.
    lead_in : "fill", "none" or int
        Bars before the first bar line; see `core.session.place`.
    division : int
        Ticks a quarter note, 96 to 15360.
    key : str or None
        Key signature such as ``Bb`` or ``F#m``.
    click, notes : bool
        Whether a click, and the take's own notes, go along in the MIDI file.
    bars, beats : bool
        Whether the lists of bar lines and of beats are written too.

    Raises
    ------
    InputError
        If one of them cannot be.
    """

    name: str
    knots: Knots = "bars"
    tolerance: float = 0.010
    lead_in: LeadIn = "fill"
    division: int = 960
    key: str | None = None
    click: bool = False
    notes: bool = False
    bars: bool = True
    beats: bool = True

    def __post_init__(self) -> None:
        name = self.name
        plain = name.isprintable() and name == Path(name).name and not name.startswith(".")
        if not name or not plain or is_device(name):
            raise InputError(f'"{name}" cannot be a file name; give a plain name without folders.')
        if self.knots not in get_args(Knots):
            raise InputError(f'The tempo cannot change at "{self.knots}"; choose bars, beats or fewest.')
        if not (isfinite(self.tolerance) and self.tolerance > 0):
            raise InputError(f"A tolerance of {self.tolerance} s cannot be; give more than 0, such as 0.01.")
        check_lead_in(self.lead_in)
        check_division(self.division)
        if self.key is not None:
            key_signature(self.key)

    def file_name(self, kind: Kind) -> str:
        """Name of one of the files."""
        return f"{self.name}.{_ENDINGS[kind]}"

    @property
    def file_names(self) -> tuple[str, ...]:
        """Names of all the files that are asked for."""
        asked = {"map": True, "bars": self.bars, "beats": self.beats}
        return tuple(self.file_name(kind) for kind in _ENDINGS if asked[kind])


@dataclass(frozen=True, slots=True)
class PlannedFile:
    """A file to be written: its name, what it holds in words, and all its bytes."""

    kind: Kind
    name: str
    holds: str
    data: bytes


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
    files : tuple of PlannedFile
        The tempo map first.
    tempi : int
        Tempo events in the MIDI file.
    note_rounding : float or None
        Largest distance in seconds between a note as played and as written; None where none go along.
    cautions : tuple of Caution
        What the musician should know before using it.
    """

    settings: Settings
    grid: Grid
    fit: Fit
    session: Session
    files: tuple[PlannedFile, ...]
    tempi: int
    note_rounding: float | None
    cautions: tuple[Caution, ...]

    @property
    def worst(self) -> float:
        """Seconds between the tempo map and the bar line it is farthest from."""
        return float(np.max(np.abs(self.fit.bar_errors)))

    @property
    def worst_bar(self) -> int:
        """Bar of the take whose bar line that is."""
        return self.grid.bar_lines[int(np.argmax(np.abs(self.fit.bar_errors)))].bar


@dataclass(frozen=True, slots=True)
class Written:
    """A hand-over on disk.

    Parameters
    ----------
    paths : dict of Kind to Path
        The files.
    read_back : ReadBack
        The written map compared with what it should say.
    """

    paths: dict[Kind, Path]
    read_back: ReadBack


def plan(grid: Grid, settings: Settings, *, take: MidiTake | None = None, sections: Sequence[Marker] = ()) -> Plan:
    """Work out a hand-over.

    Parameters
    ----------
    grid : Grid
        Bar lines of the take, two at least.
    settings : Settings
        What is asked for.
    take : MidiTake or None
        Needed only where its notes go along.
    sections : sequence of Marker
        Names and the bars of the take they start at.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        If the grid has too few bar lines, a section is at no bar of it, or notes are asked for without any.
    HandoverError
        If a bar is too slow or too fast for a MIDI file.
    """
    if settings.notes and take is None:
        raise InputError("A recording of sound has no notes to write; leave out the notes.")
    fit = _fit(grid, settings)
    session = place(grid, fit, lead_in=settings.lead_in)
    made = map_file(
        session,
        name=settings.name,
        division=settings.division,
        markers=sections,
        key=settings.key,
        take=take if settings.notes else None,
        click=settings.click,
    )
    data: dict[Kind, tuple[str, bytes]] = {
        "map": (_holds(session, made.tempo_events, settings, sections), made.data)
    }
    if settings.bars:
        words = f"{_count(len(grid.bar_lines), 'bar line')} with time, tempo and how sure each is"
        data["bars"] = (words, bars_csv(grid, fit, session, sections=sections))
    if settings.beats:
        data["beats"] = (f"{_count(len(grid.beats), 'beat')} with time, bar and beat", beats_csv(grid))
    return Plan(
        settings=settings,
        grid=grid,
        fit=fit,
        session=session,
        files=tuple(PlannedFile(kind, settings.file_name(kind), *of) for kind, of in data.items()),
        tempi=made.tempo_events,
        note_rounding=made.note_rounding,
        cautions=(*session.cautions, *map(Caution, made.warnings)),
    )


def write(plan: Plan, folder: Path, *, given: Sequence[Path] = (), overwrite: bool = False) -> Written:
    """Write all files of a plan, and read the map back.

    Parameters
    ----------
    plan : Plan
        What to write.
    folder : Path
        Where to; it must exist.
    given : sequence of Path
        Files that were read, the recording first of all; none of them is ever written over.
    overwrite : bool
        Whether files of those names may be replaced.

    Raises
    ------
    HandoverError
        If one of the files cannot be written or the map does not read back; everything in the folder is then as
        it was.
    """
    paths = {file.kind: folder / file.name for file in plan.files}
    refuse_given(paths.values(), given)
    answers: list[ReadBack] = []

    def compare(path: Path) -> None:
        answers.append(read_back(path, plan.session))

    write_together(
        [NewFile(paths[file.kind], file.data, compare if file.kind == "map" else None) for file in plan.files],
        overwrite=overwrite,
    )
    return Written(paths, answers[0])


def _fit(grid: Grid, settings: Settings) -> Fit:
    if settings.knots == "fewest":
        return fit_fewest(grid, settings.tolerance)
    return fit_beats(grid, "all") if settings.knots == "beats" else fit_bars(grid)


def _holds(session: Session, tempi: int, settings: Settings, sections: Sequence[Marker]) -> str:
    """Say what is in the MIDI file."""
    words = [
        _count(tempi, "tempo", "tempi"),
        _count(len(session.metre.changes), "time signature"),
        *([_count(len(sections), "marker")] if sections else []),
        *(["key signature"] if settings.key else []),
        *(["notes of the take"] if settings.notes else []),
        *(["click"] if settings.click else []),
    ]
    return ", ".join(words)


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
