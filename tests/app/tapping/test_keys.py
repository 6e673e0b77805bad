"""Keys are held on the pad while a pass runs, and given back."""

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from app.tapping.keys import TapKeys


@pytest.fixture
def room(qtbot):
    window = QWidget()
    column = QVBoxLayout(window)
    pad, field = QLineEdit(), QLineEdit()
    column.addWidget(pad)
    column.addWidget(field)
    qtbot.addWidget(window)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    return window, pad, field, TapKeys(pad, QObject(window))


def test_they_are_held_and_given_back(room):
    _, pad, field, keys = room
    field.setFocus()
    keys.start()
    assert pad.hasFocus()
    field.setFocus()
    assert pad.hasFocus()
    keys.stop()
    assert field.hasFocus()


def test_what_had_them_may_be_gone_by_then(room):
    _, _, field, keys = room
    field.setFocus()
    keys.start()
    field.deleteLater()
    QApplication.sendPostedEvents(field, QEvent.Type.DeferredDelete.value)
    keys.stop()
