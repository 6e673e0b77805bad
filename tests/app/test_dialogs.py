"""The small questions judge an answer while it is typed."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialogButtonBox

from app.dialogs.metre import MetreDialog
from app.dialogs.name import NameDialog
from app.dialogs.number import NumberDialog
from core.metre import TimeSignature


def good(dialog):
    return dialog.buttons.button(QDialogButtonBox.StandardButton.Ok).isEnabled()


@pytest.mark.parametrize("text", ["", "4", "4/5", "2+x/8", "0/4", "256/4"])
def test_what_is_no_metre_cannot_be_taken(qtbot, text):
    dialog = MetreDialog(5, TimeSignature(4, 4))
    qtbot.addWidget(dialog)
    dialog.field.clear()
    qtbot.keyClicks(dialog.field, text)
    assert not good(dialog)
    assert dialog.note.text()


def test_a_metre_is_typed_or_clicked(qtbot):
    dialog = MetreDialog(5, TimeSignature(4, 4))
    qtbot.addWidget(dialog)
    dialog.field.clear()
    qtbot.keyClicks(dialog.field, "3+2/8")
    assert good(dialog)
    assert dialog.signature == TimeSignature(5, 8, (3, 2))
    button = next(each for each in dialog.usual.buttons() if each.text() == "6/8")
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert dialog.signature == TimeSignature(6, 8)
    assert "2 beats" in dialog.note.text()


def test_a_number_that_changes_nothing_cannot_be_taken(qtbot):
    dialog = NumberDialog(5)
    qtbot.addWidget(dialog)
    assert not good(dialog)
    dialog.field.setValue(7)
    assert good(dialog)
    assert "2 bars more" in dialog.note.text()
    dialog.field.setValue(4)
    assert "1 bar fewer" in dialog.note.text()


def test_a_section_needs_a_name(qtbot):
    dialog = NameDialog(5, "B")
    qtbot.addWidget(dialog)
    assert good(dialog)
    qtbot.keyClick(dialog.field, Qt.Key.Key_Backspace)
    assert not good(dialog)
    qtbot.keyClicks(dialog.field, "  Storm ")
    assert good(dialog)
    assert dialog.name == "Storm"


def test_a_section_may_be_music_that_was_heard_before(qtbot):
    dialog = NameDialog(9, "C", again=(("A", "A2"), ("B", "B2")))
    qtbot.addWidget(dialog)
    dialog.show()
    assert dialog.music.isVisible()
    qtbot.keyClick(dialog.music, Qt.Key.Key_Down)
    assert dialog.name == "A2"
    qtbot.keyClick(dialog.music, Qt.Key.Key_Up)
    assert dialog.name == "C"


def test_the_name_a_section_has_is_no_other_name(qtbot):
    dialog = NameDialog(9, "Storm", before="Storm")
    qtbot.addWidget(dialog)
    dialog.show()
    assert not dialog.music.isVisible()
    assert not good(dialog)
    qtbot.keyClicks(dialog.field, "Calm")
    assert good(dialog)
    assert dialog.name == "Calm"
