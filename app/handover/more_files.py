"""The files that can be written beside the map and its lists: sound, notes, a page and a list of all."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from app.handover.column import Column
from app.handover.parts import Choice, Decimal, Whole
from core.handover_settings import MOST_COUNT_IN, Settings
from core.nearer import UNITS

_UNITS = {
    "1/4": "quarter notes",
    "1/8": "eighth notes",
    "1/8t": "eighth-note triplets",
    "1/16": "sixteenth notes",
    "1/16t": "sixteenth-note triplets",
    "1/32": "thirty-second notes",
}
_NO_NOTES = "This take is sound: it has no notes of its own to write."
_OF_NOTES = ("played", "steady_notes")
_BY_PIANO = {
    "sound": "Played by the piano that comes with Barwright; its first sample belongs at the very start.",
    "loops": "Played by that piano from bar line to bar line, so that it goes round without a click.",
    "steady": "Played by that piano, every note at its own place in the bar; nothing is stretched.",
}
"""What is said of the sound files of a MIDI take."""

_USUAL_TEMPO = 100.0


class MoreFiles(QWidget):
    """What can be chosen of them."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.column = Column(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(3)
        self._lay_out_sound()
        self._lay_out_notes()
        self.column.title("To read")
        self.report = self.column.box(
            "A page about the take", "Tempo, sections, every bar, and how exact the map is."
        )[0]
        self.manifest = self.column.box(
            "A list of all files", "With size and SHA-256, to tell later that all is whole."
        )[0]
        self._helps = {name: (label, label.text()) for name, label in self._labels.items()}
        for box in self._boxes().values():
            box.toggled.connect(self._edited)
        for number in (self.count_in, self.peak, self.strength, self.tempo):
            number.valueChanged.connect(self._edited)
        for choice in (self.form, self.marks, self.unit, self.tempo_kind):
            choice.currentIndexChanged.connect(self._edited)
        self._explain()

    def _lay_out_sound(self) -> None:
        column, self._labels = self.column, {}
        column.title("Sound")
        self.sound, self._labels["sound"] = column.box(
            "The take, from the start of the session",
            "Its first sample belongs at the very start.",
        )
        self.loops, self._labels["loops"] = column.box(
            "Each section by itself", "From bar line to bar line, so that it goes round without a click."
        )
        self.count_in = Whole(0, MOST_COUNT_IN, " bars of count-in")
        self.count_in.setAccessibleName("Bars of count-in before each section")
        column.under(self.count_in)
        self.click_sound, _ = column.box("Clicks", "One on every beat, higher ones on bar lines.")
        self.steady, self._labels["steady"] = column.box(
            "The take at one steady tempo", "Stretched along the tempo map, bar by bar."
        )
        self.form = Choice(("WAV, 24 bits", "wav"), ("FLAC, 24 bits", "flac"))
        column.field("Kind of sound files", self.form, words="Marks go into WAV files alone.")
        self.peak = Decimal(-60.0, 0.0, " dBFS")
        column.field("Loudest peak", self.peak, words="The take is turned down so far, and never up.")
        self.marks = Choice(("None", "none"), ("At sections", "sections"), ("At every bar line", "bars"))
        column.field("Marks in WAV files", self.marks, words="Named places that many programs show in the sound.")

    def _lay_out_notes(self) -> None:
        column = self.column
        column.title("Notes")
        self.played, self._labels["played"] = column.box(
            "The take's notes with its tempo", "As a MIDI file of their own, as played or nearer to the grid."
        )
        self.strength = Whole(0, 100, " % nearer to")
        self.strength.setAccessibleName("How far notes are moved towards the grid")
        self.unit = Choice(*((_UNITS[unit], unit) for unit in UNITS))
        self.unit.setAccessibleName("Grid for the notes")
        column.under(self.strength, self.unit)
        self.steady_notes, self._labels["steady_notes"] = column.box(
            "The notes at one steady tempo", "Every note at its own place in the bar."
        )
        self.tempo_kind = Choice(("The take's own mean", None), ("A tempo of your own", "own"))
        self.tempo = Decimal(5.0, 400.0, " quarters/min")
        self.tempo.setAccessibleName("Steady tempo in quarters a minute")
        column.field("Steady tempo", self.tempo_kind, self.tempo, words="For steady sound and steady notes.")

    def show_settings(self, settings: Settings, *, has_notes: bool) -> None:
        """Fill in what was chosen, without saying that it has changed.

        Parameters
        ----------
        settings : Settings
        has_notes : bool
            Whether the take has notes that can be written; its sound is then the piano's.
        """
        self.blockSignals(True)
        for name, box in self._boxes().items():
            there = has_notes or name not in _OF_NOTES
            box.setChecked(getattr(settings, name) and there)
            box.setEnabled(there)
            if name in self._helps:
                label, words = self._helps[name]
                played = _BY_PIANO.get(name, words) if has_notes else words
                label.setText(played if there else _NO_NOTES)
                box.setAccessibleDescription(label.text())
        self.count_in.setValue(settings.count_in)
        self.peak.setValue(settings.peak)
        self.strength.setValue(round(100 * settings.strength))
        self.unit.choose(settings.unit)
        self.form.choose(settings.form)
        self.marks.choose(settings.marks)
        self.tempo_kind.choose(None if settings.steady_tempo is None else "own")
        self.tempo.setValue(settings.steady_tempo or _USUAL_TEMPO)
        self._explain()
        self.blockSignals(False)

    def values(self) -> dict[str, Any]:
        """What is chosen now, by the names of `Settings`."""
        return {
            **{name: box.isChecked() for name, box in self._boxes().items()},
            "count_in": self.count_in.value(),
            "peak": self.peak.value(),
            "strength": self.strength.value() / 100,
            "unit": self.unit.value,
            "form": self.form.value,
            "marks": self.marks.value,
            "steady_tempo": self.tempo.value() if self.tempo_kind.value == "own" else None,
        }

    def _boxes(self) -> dict[str, Any]:
        names = ("sound", "loops", "click_sound", "steady", "played", "steady_notes", "report", "manifest")
        return {name: getattr(self, name) for name in names}

    @Slot()
    def _edited(self) -> None:
        self._explain()
        self.changed.emit()

    def _explain(self) -> None:
        """Show only the numbers that count."""
        self.count_in.setVisible(self.loops.isChecked())
        notes = self.played.isChecked() or self.steady_notes.isChecked()
        self.strength.setVisible(notes)
        self.unit.setVisible(notes and self.strength.value() > 0)
        self.tempo.setVisible(self.tempo_kind.value == "own")
