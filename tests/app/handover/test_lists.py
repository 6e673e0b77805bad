"""Short lists of the page."""

import pytest
from PySide6.QtCore import Qt

from app.handover.lists import CautionList, size_words
from core.session import Caution


@pytest.mark.parametrize(
    ("size", "words"),
    [(12, "12 bytes"), (999, "999 bytes"), (1000, "1.0 kB"), (34_400, "34.4 kB"), (2.5e6, "2.5 MB")],
)
def test_sizes_count_in_thousands(size, words):
    # SI prefixes (BIPM, The International System of Units, 9th edition): k is 1000, M a million.
    assert size_words(size) == words


@pytest.fixture
def cautions(qtbot):
    made = CautionList()
    qtbot.addWidget(made)
    made.resize(300, 40)
    made.show_cautions(
        [Caution("Bar 3 is slow. " * 8, 3), Caution("Notes are left out."), Caution("Bar 9 is fast.", 9)]
    )
    made.show()
    return made


def test_mouse_and_keys_lead_to_the_bar(cautions, qtbot):
    with qtbot.waitSignal(cautions.went_to) as told:
        qtbot.mouseClick(
            cautions.viewport(), Qt.MouseButton.LeftButton, pos=cautions.visualItemRect(cautions.item(2)).center()
        )
    assert told.args == [9]
    cautions.setCurrentRow(0)
    with qtbot.waitSignal(cautions.went_to) as told:
        qtbot.keyClick(cautions, Qt.Key.Key_Return)
    assert told.args == [3]
    with qtbot.assertNotEmitted(cautions.went_to):
        qtbot.mouseClick(
            cautions.viewport(), Qt.MouseButton.LeftButton, pos=cautions.visualItemRect(cautions.item(1)).center()
        )


def test_it_is_as_high_as_its_wrapped_texts(cautions):
    whole = cautions.visualItemRect(cautions.item(2)).bottom()
    assert whole <= cautions.height() <= whole + 6
    assert cautions.visualItemRect(cautions.item(0)).height() > 2 * cautions.fontMetrics().height()
    cautions.show_cautions(())
    assert cautions.isHidden()
