"""One minute of tapping along with a click: how early or late somebody taps on this machine, and how evenly."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QProgressBar, QVBoxLayout, QWidget

from app.dialogs.buttons import foot
from app.tapping.midi_in import MidiInput
from app.tapping.moments import EventMoments
from app.tapping.pad import Pad
from app.tapping.playback import Playback, Strip
from app.tapping.words import habit_words
from core.checks import Floats
from core.errors import InputError
from core.tap_bias import Habit
from core.tap_calibration import SETTLING, habit_from_clicks

STEP, CLICKS = 0.75, 80
"""Seconds from click to click, and how many there are: a minute at an easy pace."""

FIRST = 1.0
"""Seconds before the first click."""

BEFORE = (
    "A click plays for one minute, quietly. Tap along with it as you would with music: Space, the pad or "
    "a MIDI key. How early or late you tap on this computer is then known, and every pass begins with that."
)
SILENT = "{why} So there is nothing to tap along with."
KEEP = "Keep this: every pass begins with it from now on. Or start again."


class Calibration(QDialog):
    """Plays the click and measures.

    Parameters
    ----------
    player : Playback
        Its clock says which click was heard at a tap.
    strip : Strip
        Plays the clicks.
    midi : MidiInput
        Taps from controllers; it is listening already.
    """

    kept = Signal(object)
    """The `Habit` that was found and is to be remembered."""

    def __init__(self, player: Playback, strip: Strip, midi: MidiInput, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Calibrate tapping")
        self.setMinimumWidth(460)
        self._player, self._strip, self._moments = player, strip, EventMoments()
        self._clicks: Floats = np.array([FIRST + STEP * i for i in range(CLICKS)])
        self._taps: list[float] = []
        self._running = False
        self._habit: Habit | None = None
        self.words = QLabel(BEFORE)
        self.words.setWordWrap(True)
        self.words.setMinimumHeight(3 * self.words.fontMetrics().lineSpacing())
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.pad = Pad()
        self.bar = QProgressBar()
        self.bar.setRange(0, CLICKS)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Clicks tapped")
        self.buttons = foot(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText("Keep")
        column = QVBoxLayout(self)
        column.setSpacing(12)
        for widget in (self.words, self.pad, self.bar, self.buttons):
            column.addWidget(widget)
        self.buttons.accepted.connect(self._keep)
        self.buttons.rejected.connect(self.reject)
        self.pad.struck.connect(self._strike)
        self.pad.ended.connect(self._stop)
        player.playing_changed.connect(self._playing)
        midi.tapped.connect(self._tap)
        self._rest(BEFORE)
        self.pad.setFocus()

    def _rest(self, words: str) -> None:
        why = self._player.silent
        self._running = False
        self.words.setText(SILENT.format(why=why) if why else words)
        self.pad.setEnabled(not why)
        self.pad.say("Start", "Space", armed=False)
        self.ok.setEnabled(self._habit is not None)

    @Slot(int)
    def _strike(self, stamp: int) -> None:
        moment = self._moments.moment(stamp)
        if self._running:
            self._tap(moment)
        else:
            self._taps, self._habit, self._running = [], None, True
            self.ok.setEnabled(False)
            self.bar.setValue(0)
            self.words.setText(f"Listen to {SETTLING} clicks, or tap along at once. Esc stops.")
            self.pad.say("Tap", "Space", armed=True)
            self._strip.play_clicks(self._clicks)

    @Slot(float)
    def _tap(self, moment: float) -> None:
        time = self._player.take_time(moment) if self._running else None
        if time is not None:
            self._taps.append(time)
            self.pad.light_up()
            self.bar.setValue(int(np.searchsorted(self._clicks, time)))

    @Slot()
    def _stop(self) -> None:
        self._player.stop()

    @Slot(bool)
    def _playing(self, playing: bool) -> None:
        if playing or not self._running:
            return
        try:
            self._habit = habit_from_clicks(self._clicks, np.sort(self._taps))
        except InputError as error:
            self._rest(str(error))
        else:
            self._rest(f"You tap {habit_words(self._habit)}. {KEEP}")
            self.ok.setFocus()

    @Slot()
    def _keep(self) -> None:
        if self._habit is not None:
            self.kept.emit(self._habit)
        self.accept()

    def done(self, result: int) -> None:
        """Leave nothing playing."""
        self._running = False
        self._player.stop()
        self.pad.rest()
        super().done(result)
