"""What the musician chooses for a hand-over."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Literal, get_args

from core.document import Section
from core.errors import InputError
from core.nearer import UNITS, Unit
from core.session import LeadIn, check_intro, check_lead_in
from core.smf import key_signature
from core.tempo_track import check_division
from core.write_sound import SoundForm

Knots = Literal["bars", "beats", "fewest"]
"""Where the tempo may change: at every bar line, at every beat, or only where the tolerance asks for it."""

Marks = Literal["none", "sections", "bars"]
"""Named places in a WAV file: none, where a section begins, or at every bar line too."""

Kind = Literal[
    "map", "bars", "beats", "sound", "loop", "click", "notes", "steady", "steady-notes", "report", "manifest"
]
"""The files of a hand-over, in the order in which they are written."""

MOST_COUNT_IN = 8
"""Bars of clicks before a section."""

_LONGEST_NAME = 40
"""Characters of a section's name that go into a file name."""


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
    intro : int
        Empty bars before all that, 0 to 999.
    division : int
        Ticks a quarter note, 96 to 15360.
    key : str or None
        Key signature such as ``Bb`` or ``F#m``.
    click, notes : bool
        Whether a click, and the take's own notes, go along in the map's MIDI file.
    bars, beats : bool
        Whether the lists of bar lines and of beats are written too.
    sound : bool
        Whether the take is written as sound that begins with the session.
    form : "wav" or "flac"
        Kind of all sound files.
    peak : float
        dBFS above which no sample of the take may be, -60 to 0; it is turned down for that and never up.
    marks : str
        Named places in WAV files: ``"none"``, ``"sections"`` or ``"bars"``.
    loops : bool
        Whether each section is written as sound of its own.
    count_in : int
        Bars of clicks before each of them, 0 to 8.
    click_sound : bool
        Whether clicks on all beats are written as sound.
    played : bool
        Whether the take's notes are written as a MIDI file of their own, with the tempo map.
    strength : float
        How far its notes are moved towards the grid, 0 (as played) to 1.
    unit : str
        Grid of that: a note value such as ``"1/16"``, or ``"1/8t"`` for triplets.
    steady, steady_notes : bool
        Whether the take is written at one steady tempo, as sound and as MIDI.
    steady_tempo : float or None
        Quarters a minute of that, 5 to 400; None: the take's own mean.
    report, manifest : bool
        Whether a page to read, and a list of all files with their SHA-256, are written.

    Raises
    ------
    InputError
        If one of them cannot be.
    """

    name: str
    knots: Knots = "bars"
    tolerance: float = 0.010
    lead_in: LeadIn = "fill"
    intro: int = 0
    division: int = 960
    key: str | None = None
    click: bool = False
    notes: bool = False
    bars: bool = True
    beats: bool = True
    sound: bool = False
    form: SoundForm = "wav"
    peak: float = -12.0
    marks: Marks = "sections"
    loops: bool = False
    count_in: int = 0
    click_sound: bool = False
    played: bool = False
    strength: float = 0.0
    unit: Unit = "1/16"
    steady: bool = False
    steady_notes: bool = False
    steady_tempo: float | None = None
    report: bool = False
    manifest: bool = False

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
        check_intro(self.intro)
        check_division(self.division)
        if self.key is not None:
            key_signature(self.key)
        self._check_sound()

    def _check_sound(self) -> None:
        if self.form not in get_args(SoundForm):
            raise InputError(f'Sound cannot be written as "{self.form}"; choose wav or flac.')
        if not -60 <= self.peak <= 0:
            raise InputError(f"A peak of {self.peak} dBFS cannot be; give -60 to 0, such as -12.")
        if self.marks not in get_args(Marks):
            raise InputError(f'Marks cannot be at "{self.marks}"; choose none, sections or bars.')
        if not 0 <= self.count_in <= MOST_COUNT_IN:
            raise InputError(f"A count-in of {self.count_in} bars cannot be; give 0 to {MOST_COUNT_IN}.")
        if not 0 <= self.strength <= 1:
            raise InputError(
                f"Notes cannot be moved by {100 * self.strength:.0f} % of the way to the grid; give 0 to 100 %."
            )
        if self.unit not in UNITS:
            raise InputError(f'"{self.unit}" is no grid for notes; choose one of {", ".join(UNITS)}.')
        if self.steady_tempo is not None and not 5 <= self.steady_tempo <= 400:
            raise InputError(
                f"A steady tempo of {self.steady_tempo} quarters a minute cannot be; give 5 to 400, such as 72."
            )

    @property
    def needs_sound(self) -> bool:
        """Whether the take must be there as sound."""
        return self.sound or self.loops or self.steady

    @property
    def needs_notes(self) -> bool:
        """Whether the take must be there as notes."""
        return self.notes or self.played or self.steady_notes

    def file_name(self, kind: Kind) -> str:
        """Name of one of the files; for ``"loop"`` see `loop_names`."""
        endings: dict[Kind, str] = {
            "map": "tempo-map.mid",
            "bars": "bars.csv",
            "beats": "beats.csv",
            "sound": f"take.{self.form}",
            "click": f"click.{self.form}",
            "notes": "take.mid",
            "steady": f"steady.{self.form}",
            "steady-notes": "steady.mid",
            "report": "report.html",
            "manifest": "manifest.json",
        }
        return f"{self.name}.{endings[kind]}"

    def loop_names(self, sections: Sequence[Section]) -> tuple[str, ...]:
        """Names of the files of sections; they sort in the order in which they are played."""
        ordered = sorted(sections, key=lambda marker: marker.bar)
        digits = len(str(len(ordered)))
        return tuple(
            f"{self.name}.section-{number:0{digits}d}-{_plain(marker.name)}.{self.form}"
            for number, marker in enumerate(ordered, 1)
        )

    def file_names(self, sections: Sequence[Section] = ()) -> tuple[str, ...]:
        """Names of all the files that are asked for."""
        asked: dict[Kind, bool] = {
            "map": True,
            "bars": self.bars,
            "beats": self.beats,
            "sound": self.sound,
            "click": self.click_sound,
            "notes": self.played,
            "steady": self.steady,
            "steady-notes": self.steady_notes,
            "report": self.report,
            "manifest": self.manifest,
        }
        names = tuple(self.file_name(kind) for kind, wanted in asked.items() if wanted)
        return names + (self.loop_names(sections) if self.loops else ())


def _plain(name: str) -> str:
    """A section's name as part of a file name, on every system."""
    kept = "".join(letter if letter.isprintable() and letter not in '<>:"/\\|?*' else "-" for letter in name)
    return kept.strip(" .")[:_LONGEST_NAME].strip(" .") or "section"
