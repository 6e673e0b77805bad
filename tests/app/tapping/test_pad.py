"""The pad is struck by pressing, with the time stamp of the press."""

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from app.tapping.keys import TapKeys
from app.tapping.pad import Pad

Key, NONE = Qt.Key, Qt.KeyboardModifier.NoModifier


@pytest.fixture
def pad(qtbot):
    pad = Pad()
    qtbot.addWidget(pad)
    pad.show()
    pad.strikes, pad.ends = [], []
    pad.struck.connect(pad.strikes.append)
    pad.ended.connect(lambda: pad.ends.append(1))
    yield pad
    pad.rest()


def key(pad, key=Key.Key_Space, *, stamp=0, repeat=False, kind=QEvent.Type.KeyPress):
    event = QKeyEvent(kind, key, NONE, " ", repeat)
    event.setTimestamp(stamp)
    QApplication.sendEvent(pad, event)
    return event


def test_a_key_strikes_once_however_long_it_is_held(pad):
    key(pad, stamp=4_711)
    for _ in range(5):
        key(pad, stamp=5_000, repeat=True)
    key(pad, stamp=5_100, kind=QEvent.Type.KeyRelease)
    assert pad.strikes == [4_711]


def test_the_mouse_strikes_when_it_lands_and_twice_when_it_is_quick(pad):
    QTest.mousePress(pad, Qt.MouseButton.LeftButton, NONE, QPoint(20, 20))
    assert len(pad.strikes) == 1
    QTest.mouseRelease(pad, Qt.MouseButton.LeftButton, NONE, QPoint(20, 20))
    QTest.mouseDClick(pad, Qt.MouseButton.LeftButton, NONE, QPoint(20, 20))
    assert len(pad.strikes) >= 2
    count = len(pad.strikes)
    QTest.mouseClick(pad, Qt.MouseButton.RightButton, NONE, QPoint(20, 20))
    assert len(pad.strikes) == count


def test_escape_is_its_own_only_while_a_pass_runs(pad):
    assert not key(pad, Key.Key_Escape, kind=QEvent.Type.ShortcutOverride).isAccepted()
    pad.say("Tap", "Space", armed=True)
    assert key(pad, Key.Key_Escape, kind=QEvent.Type.ShortcutOverride).isAccepted()
    key(pad, Key.Key_Escape)
    assert pad.ends == [1]
    assert key(pad, kind=QEvent.Type.ShortcutOverride).isAccepted()


def test_it_lights_up_and_goes_out(qtbot, pad):
    dark = pad.grab().toImage()
    pad.light_up()
    assert pad.grab().toImage() != dark
    qtbot.waitUntil(lambda: pad.grab().toImage() == dark)


def test_keys_are_held_on_it_and_given_back(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    pad, one, other = Pad(), QLineEdit(), QLineEdit()
    for widget in (pad, one, other):
        column.addWidget(widget)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    one.setFocus()
    keys = TapKeys(pad, window)
    keys.start()
    assert pad.hasFocus()
    other.setFocus()
    assert pad.hasFocus()
    keys.stop()
    assert other.hasFocus()
