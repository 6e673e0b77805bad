"""The MIDI files of a hand-over, planned: the tempo map, the take's notes with it, and the take made steady."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from core.document import Section
from core.handover_settings import Settings
from core.nearer import Timing
from core.planned import PlannedFile, counted
from core.session import Session
from core.take import MidiTake
from core.units import quarters_per_minute
from core.write_midi import map_file


class MidiPlanner:
    """Plans MIDI files.

    Parameters
    ----------
    settings : Settings
    session : Session
    sections : sequence of Section
        In order of bars.
    take : MidiTake or None
        Whose notes go along where they are asked for.
    """

    def __init__(
        self, settings: Settings, session: Session, sections: Sequence[Section], take: MidiTake | None
    ) -> None:
        self._settings, self._session, self._sections, self._take = settings, session, sections, take
        self._map = partial(
            map_file,
            session,
            name=settings.name,
            division=settings.division,
            markers=sections,
            key=settings.key,
        )
        self._timing = Timing(settings.strength, settings.unit)
        self.made = self._map(take=take if settings.notes else None, click=settings.click)

    def map(self) -> PlannedFile:
        """The tempo map."""
        settings, made = self._settings, self.made
        words = [
            counted(made.tempo_events, "tempo", "tempi"),
            counted(len(self._session.metre.changes), "time signature"),
            *([counted(len(self._sections), "marker")] if self._sections else []),
            *(["key signature"] if settings.key else []),
            *(["notes of the take"] if settings.notes else []),
            *(["click"] if settings.click else []),
        ]
        return PlannedFile("map", settings.file_name("map"), ", ".join(words), made.data)

    def played(self) -> PlannedFile:
        """The take's notes with its own tempo."""
        made = self._map(take=self._take, timing=self._timing)
        return PlannedFile("notes", self._settings.file_name("notes"), self._words("the tempo map"), made.data)

    def steady(self, us: int) -> PlannedFile:
        """The take's notes at one tempo."""
        made = self._map(take=self._take, timing=self._timing, steady_us=us)
        words = self._words(f"a steady {quarters_per_minute(us):.5g} quarters a minute")
        return PlannedFile("steady-notes", self._settings.file_name("steady-notes"), words, made.data)

    def _words(self, tempo: str) -> str:
        assert self._take is not None
        notes = counted(len(self._take.notes), "note")
        strength = self._settings.strength
        where = (
            f"moved {100 * strength:.0f} % of the way to the {self._settings.unit} grid"
            if strength
            else "where they were played"
        )
        return f"{notes} {where}, at {tempo}"
