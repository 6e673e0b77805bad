"""The settings of the hand-over as a form, each with a sentence of help."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import (
    QFileDialog,
    QLineEdit,
    QPushButton,
    QWidget,
)

from app.handover.choices import Choices
from app.handover.column import Column
from app.handover.more_files import MoreFiles
from app.handover.parts import Choice, Decimal, Whole
from core.errors import InputError
from core.handover_settings import Settings

_KNOTS = {
    "bars": ("At every bar line", "One tempo a bar; every bar line is met exactly."),
    "beats": ("At every beat", "The click follows each beat inside the bar too."),
    "fewest": (
        "As seldom as possible",
        "A calm tempo track: a suggested bar line may be off by up to the tolerance, one you placed never.",
    ),
}
_LEADS = {
    "fill": ("Fill the time before bar 1", "Recording and session start together."),
    "none": ("None", "Bar 1 is the start of the session; what comes before it lies outside."),
    "bars": ("A number of bars", "So many before the first bar line, whatever the recording has there."),
}
_LEADS_AFTER_EMPTY = {
    "fill": "Bars at the opening tempo hold what was recorded before bar 1.",
    "none": "Bar 1 follows on the empty bars; what comes before it lies in them.",
    "bars": "So many between the empty bars and the first bar line.",
}
"""What the choices mean where there are empty bars in front."""
_NOTES = "What you played goes along as a track, every note where it was played."
_NO_NOTES = "This take is sound: it has no notes of its own to write."
_DIVISIONS = (96, 192, 384, 480, 960, 1920, 3840, 7680, 15360)


def _keys() -> list[tuple[str, object]]:
    """All keys of at most seven sharps or flats, by letter."""
    entries: list[tuple[str, object]] = [("Not written", None)]
    for letter in "CDEFGAB":
        for sign, mark in (("", ""), ("#", "♯"), ("b", "♭")):
            fifths = "FCGDAEB".index(letter) - 1 + {"": 0, "#": 7, "b": -7}[sign]
            if abs(fifths) <= 7:
                entries.append((f"{letter}{mark} major", f"{letter}{sign}"))
            if abs(fifths - 3) <= 7:
                entries.append((f"{letter}{mark} minor", f"{letter}{sign}m"))
    return entries


class SettingsForm(QWidget):
    """Everything that can be chosen, from top to bottom."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column = Column(self)
        self._column.setContentsMargins(20, 16, 16, 20)
        self._column.setSpacing(3)

        self.name = QLineEdit()
        self._column.field(
            "Name of the files", self.name, words="It goes before .tempo-map.mid, .bars.csv and .beats.csv."
        )
        self.folder = QLineEdit()
        self.choose = QPushButton("Choose…")
        self.choose.setAccessibleName("Choose the folder")
        self._column.field("Folder", self.folder, self.choose, words="The recording is only read, never changed.")

        self.knots = Choice(*((words, value) for value, (words, _) in _KNOTS.items()))
        self.tolerance = Decimal(0.1, 1000.0, " ms")
        self.tolerance.setAccessibleName("Tolerance in milliseconds")
        self.tolerance.setToolTip("Milliseconds a suggested bar line may be off")
        self.knots_help = self._column.field("Tempo changes", self.knots, self.tolerance)
        self.lead_in = Choice(*((words, value) for value, (words, _) in _LEADS.items()))
        self.lead_bars = Whole(1, 999, " bars")
        self.lead_bars.setAccessibleName("Bars of lead-in")
        self.intro = Whole(0, 999, " bars")
        self.lead_help = self._column.field("Lead-in", self.lead_in, self.lead_bars)
        self._column.field(
            "Empty bars in front", self.intro, words="For a part that begins before the take, at its tempo."
        )

        self._column.title("Also in the MIDI file")
        self.click = self._column.box(
            "A click on every beat", "On a track of its own. Turn it down before you listen on headphones."
        )[0]
        self.notes, self.notes_help = self._column.box("The take's own notes", _NOTES)
        self._column.title("Also written")
        self.bars = self._column.box("A list of the bar lines", "Times, tempi and how sure each is, as CSV.")[0]
        self.beats = self._column.box("A list of the beats", "The time of every beat, as CSV.")[0]

        self.key = Choice(*_keys())
        self._column.field("Key signature", self.key, words="For the sequencer's notation; it changes no sound.")
        self.division = Choice(*((f"{ticks} ticks a quarter note", ticks) for ticks in _DIVISIONS))
        self._column.field(
            "Division", self.division, words="How finely the file counts; 960 suits nearly every sequencer."
        )
        self.more = MoreFiles()
        self._column.addSpacing(11)
        self._column.addWidget(self.more)
        self._column.addStretch(1)

        for edit in (self.name, self.folder):
            edit.textEdited.connect(self._edited)
        self.choose.clicked.connect(self._choose_folder)
        for choice in (self.knots, self.lead_in, self.key, self.division):
            choice.currentIndexChanged.connect(self._edited)
        for number in (self.tolerance, self.lead_bars, self.intro):
            number.valueChanged.connect(self._edited)
        for box in (self.click, self.notes, self.bars, self.beats):
            box.toggled.connect(self._edited)
        self.more.changed.connect(self._edited)
        self._explain()

    def show_choices(self, choices: Choices, *, has_notes: bool) -> None:
        """Fill in what was chosen, without saying that it has changed.

        Parameters
        ----------
        choices : Choices
            Of the take on the page.
        has_notes : bool
            Whether the take has notes that can be written; its sound is then the piano's.
        """
        settings = choices.settings
        self.blockSignals(True)
        self.name.setText(settings.name)
        self.folder.setText(str(choices.folder))
        self.folder.setCursorPosition(len(self.folder.text()))
        self.knots.choose(settings.knots)
        self.tolerance.setValue(1000 * settings.tolerance)
        asked = isinstance(settings.lead_in, int)
        self.lead_in.choose("bars" if asked and settings.lead_in else "none" if asked else settings.lead_in)
        self.lead_bars.setValue(max(int(settings.lead_in), 1) if asked else 2)
        self.intro.setValue(settings.intro)
        self.more.show_settings(settings, has_notes=has_notes)
        self.key.choose(settings.key)
        self.division.choose(settings.division, f"{settings.division} ticks a quarter note")
        self.click.setChecked(settings.click)
        self.notes.setChecked(settings.notes and has_notes)
        self.notes.setEnabled(has_notes)
        self.bars.setChecked(settings.bars)
        self.beats.setChecked(settings.beats)
        self.notes_help.setText(_NOTES if has_notes else _NO_NOTES)
        self.notes.setAccessibleDescription(self.notes_help.text())
        self._explain()
        self.blockSignals(False)

    def choices(self) -> Choices:
        """What is chosen now.

        Raises
        ------
        InputError
            If the name cannot be that of a file, or the folder is not named in full.
        """
        folder = self.folder.text().strip()
        with suppress(RuntimeError):  # a home folder of nobody
            folder = str(Path(folder).expanduser())
        if not Path(folder).is_absolute():
            raise InputError(
                f'"{folder}" is not the whole path of a folder; choose one with the button beside it.'
            )
        settings = Settings(
            name=self.name.text().strip(),
            knots=self.knots.value,
            tolerance=self.tolerance.value() / 1000,
            lead_in=self.lead_bars.value() if self.lead_in.value == "bars" else self.lead_in.value,
            intro=self.intro.value(),
            division=self.division.value,
            key=self.key.value,
            click=self.click.isChecked(),
            notes=self.notes.isChecked(),
            bars=self.bars.isChecked(),
            beats=self.beats.isChecked(),
            **self.more.values(),
        )
        return Choices(settings, Path(folder))

    @Slot()
    def _edited(self) -> None:
        self._explain()
        self.changed.emit()

    @Slot()
    def _choose_folder(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, "Folder for the files", self.folder.text())
        if folder:
            self.folder.setText(folder)
            self._edited()

    def _explain(self) -> None:
        """Say what the present choices mean, and show only the numbers that count."""
        self.tolerance.setVisible(self.knots.value == "fewest")
        self.lead_bars.setVisible(self.lead_in.value == "bars")
        lead = str(self.lead_in.value)
        for choice, label, words in (
            (self.knots, self.knots_help, _KNOTS[str(self.knots.value)][1]),
            (self.lead_in, self.lead_help, _LEADS_AFTER_EMPTY[lead] if self.intro.value() else _LEADS[lead][1]),
        ):
            label.setText(words)
            choice.setAccessibleDescription(words)
