"""One minute of tapping to a click, with a metronome of the test's own."""

import numpy as np
import pytest
from PySide6.QtCore import QObject, QPoint, Qt, Signal
from PySide6.QtTest import QTest

from app.tapping.calibration import CLICKS, Calibration
from app.tapping.midi_in import MidiInput
from tests.app.tapping.fake_ports import FakePorts


class FakeMetronome(QObject):
    playing_changed = Signal(bool)

    def __init__(self):
        super().__init__()
        self.silent = ""
        self.clicks = None
        self.playing = False
        self.heard = None

    def play_clicks(self, times):
        self.clicks, self.playing = times, True
        self.playing_changed.emit(True)

    def stop(self):
        if self.playing:
            self.playing = False
            self.playing_changed.emit(False)

    def take_time(self, moment):
        return self.heard


@pytest.fixture
def metronome(qapp):
    return FakeMetronome()


@pytest.fixture
def dialog(qtbot, metronome):
    midi = MidiInput(FakePorts())
    dialog = Calibration(metronome, metronome, midi)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, on=False)
    dialog.habits = []
    dialog.kept.connect(dialog.habits.append)
    dialog.midi = midi
    qtbot.addWidget(dialog)
    dialog.show()
    yield dialog
    dialog.reject()


def tap(dialog, metronome, *, bias, spread, count=CLICKS):
    random = np.random.default_rng(5)
    for i, click in enumerate(metronome.clicks[:count]):
        metronome.heard = float(click + bias + random.normal(0, spread))
        if i % 3:
            QTest.keyClick(dialog.pad, Qt.Key.Key_Space)
        else:
            QTest.mousePress(dialog.pad, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(9, 9))


def test_a_minute_of_taps_gives_the_habit_and_it_is_kept(dialog, metronome):
    assert not dialog.ok.isEnabled()
    QTest.keyClick(dialog.pad, Qt.Key.Key_Space)
    # A minute, at a pace that nobody finds hard.
    assert 55 <= metronome.clicks[-1] <= 65
    tap(dialog, metronome, bias=-0.042, spread=0.02)
    metronome.stop()
    assert "early, give or take" in dialog.words.text()
    QTest.mouseClick(dialog.ok, Qt.MouseButton.LeftButton)
    (habit,) = dialog.habits
    # Four standard errors of a median (1.25 sigma / sqrt(n)).
    assert habit.bias == pytest.approx(-0.042, abs=4 * 1.25 * 0.02 / np.sqrt(CLICKS))
    assert habit.spread == pytest.approx(0.02, abs=0.008)


def test_too_few_taps_are_said_and_it_can_be_tried_again(dialog, metronome):
    QTest.keyClick(dialog.pad, Qt.Key.Key_Space)
    tap(dialog, metronome, bias=-0.02, spread=0.01, count=15)
    QTest.keyClick(dialog.pad, Qt.Key.Key_Escape)
    assert not metronome.playing
    assert "Only 11 taps" in dialog.words.text()
    assert not dialog.ok.isEnabled()
    QTest.keyClick(dialog.pad, Qt.Key.Key_Space)
    tap(dialog, metronome, bias=-0.02, spread=0.01)
    metronome.stop()
    assert dialog.ok.isEnabled()


def test_without_sound_there_is_nothing_to_tap_along_with(qtbot, metronome):
    metronome.silent = "No sound card was found."
    dialog = Calibration(metronome, metronome, MidiInput(FakePorts()))
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, on=False)
    qtbot.addWidget(dialog)
    assert "No sound card was found. So there is nothing" in dialog.words.text()
    assert not dialog.pad.isEnabled()


def test_closed_in_the_middle_nothing_goes_on_playing_and_nothing_is_kept(dialog, metronome):
    QTest.keyClick(dialog.pad, Qt.Key.Key_Space)
    tap(dialog, metronome, bias=0.0, spread=0.01, count=40)
    dialog.reject()
    assert not metronome.playing
    assert dialog.habits == []
