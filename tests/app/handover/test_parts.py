"""Small parts of the page."""

import pytest

from app.handover.parts import Choice, FileName


def test_a_value_that_is_not_in_the_list_is_added(qtbot):
    choice = Choice(("960 ticks", 960), ("Not written", None))
    qtbot.addWidget(choice)
    choice.choose(None)
    assert choice.value is None
    choice.choose(120, "120 ticks")
    assert (choice.value, choice.currentText(), choice.count()) == (120, "120 ticks", 3)


@pytest.mark.parametrize(("width", "whole"), [(900, True), (160, False)])
def test_a_long_name_keeps_its_ending(qtbot, width, whole):
    name = FileName()
    qtbot.addWidget(name)
    name.resize(width, 20)
    name.show()
    name.say("the third take of an evening at the harbour.bars.csv")
    assert (name.text() == name.whole) is whole
    assert name.text().endswith(".bars.csv")
    assert name.toolTip() == ("" if whole else name.whole)
    assert name.accessibleName() == name.whole
