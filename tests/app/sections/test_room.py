"""Sections in a real window: their table and lane, by mouse and keys; suggestions taken over, dropped, kept up."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QContextMenuEvent, QHelpEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QToolTip

from app.colours import colours_for
from app.sections.looks import look_words, tint
from core.document import Section
from core.edits import NameSection, Place
from core.grid import Pin
from tests.app.shell import WAIT, afresh, close_dialogs, opened, settled

EXAMPLE = Path(__file__).parents[3] / "examples" / "low-tide.mid"
Key, Left = Qt.Key, Qt.MouseButton.LeftButton


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return Path(shutil.copy(EXAMPLE, tmp_path_factory.mktemp("takes")))


@pytest.fixture
def window(qtbot, shared, path):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, path)
    afresh(qtbot, shared)
    shared.side_panel.cutting.setCurrentWidget(shared.sections.table)
    shared.navigation.fit()
    shared.sections.hand.drop_sections()
    yield shared
    close_dialogs()


def sections(window):
    return window.workspace.state.document.sections


def cells(table, row):
    item = table.tree.topLevelItem(row)
    return [item.text(column) for column in range(table.tree.columnCount())]


def click(qtbot, table, row, column=0):
    item = table.tree.topLevelItem(row)
    table.tree.scrollToItem(item)
    box = table.tree.visualItemRect(item)
    qtbot.mouseClick(
        table.tree.viewport(), Left, pos=QPoint(table.tree.columnViewportPosition(column) + 30, box.center().y())
    )


def suggest(qtbot, window):
    qtbot.mouseClick(window.sections.table.suggest, Left)
    qtbot.waitUntil(lambda: bool(window.sections.hand.sections), timeout=WAIT)
    return window.sections.hand.sections


def tip(lane, place):
    """What is said when the pointer rests at a place."""
    QApplication.sendEvent(lane, QHelpEvent(QEvent.Type.ToolTip, place, lane.mapToGlobal(place)))
    words = QToolTip.text()
    QToolTip.hideText()
    return words


def test_an_empty_table_says_what_to_do(window):
    table = window.sections.table
    assert table.nothing.isVisible()
    assert "Suggest" in table.nothing.text()
    assert table.suggest.isEnabled()
    assert not table.loop.isEnabled()


def test_the_table_says_what_its_bars_say(window):
    window.workspace.do(NameSection(3, "Slack water"))
    window.workspace.do(NameSection(11, "Ebb"))
    table = window.sections.table
    lines = {line.bar: line.time for line in window.workspace.state.grid.bar_lines}
    length = lines[11] - lines[3]
    # Mean tempo: quarters by minutes; spread: standard deviation (numpy) of the tempi of single bars.
    tempi = [240 / (lines[bar + 1] - lines[bar]) for bar in range(3, 11)]
    minutes, seconds = divmod(round(length), 60)
    assert cells(table, 0) == [
        *("Slack water", "8", f"{minutes}:{seconds:02d}", f"{60 * 32 / length:.0f}", f"{np.std(tempi):.0f}")
    ]
    assert cells(table, 1)[0] == "Ebb"


def test_a_click_goes_there_and_a_new_name_is_typed(qtbot, window):
    window.workspace.do(NameSection(3, "Slack water"))
    window.workspace.do(NameSection(60, "Ebb"))
    table = window.sections.table
    click(qtbot, table, 1)
    assert window.workspace.selection == {(60, 1)}
    table.tree.setFocus()
    qtbot.keyClick(table.tree, Key.Key_F2)
    editor = table.tree.findChild(QLineEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, "Low tide")
    qtbot.keyClick(editor, Key.Key_Return)
    qtbot.waitUntil(lambda: sections(window)[1] == Section(60, "Low tide"), timeout=WAIT)
    assert cells(table, 1)[0] == "Low tide"
    window.workspace.undo()
    assert cells(table, 1)[0] == "Ebb"


def test_a_name_that_cannot_be_leaves_the_old_one(qtbot, window):
    window.workspace.do(NameSection(3, "Slack water"))
    table, said = window.sections.table, []
    window.workspace.message.connect(said.append)
    table.tree.topLevelItem(0).setText(0, "  ")
    qtbot.waitUntil(lambda: bool(said), timeout=WAIT)
    window.workspace.message.disconnect(said.append)
    assert cells(table, 0)[0] == "Slack water"
    assert sections(window) == (Section(3, "Slack water"),)
    assert said[-1].text == "A section needs a name."


def test_another_colour_is_seen_in_the_lane(qtbot, window):
    window.workspace.do(NameSection(3, "Slack water"))
    table, lane = window.sections.table, window.timeline.sections
    click(qtbot, table, 0)
    assert table.colour.isEnabled()
    look = next(act for act in table.looks.actions() if act.text() == look_words(6))
    look.trigger()
    assert sections(window)[0].look == 6
    colours, lines = colours_for(lane.palette()), window.workspace.state.grid.bar_lines
    x = round(window.span.x_of(lines[10].time))
    image = lane.grab().toImage()
    ratio = image.devicePixelRatio()
    seen = {image.pixelColor(round(x * ratio) + i, round(4 * ratio)).name() for i in range(8)}
    assert tint(6, colours).name() in seen
    table.looks.actions()[0].trigger()
    assert sections(window)[0].look is None


def test_same_music_looks_alike(window):
    for bar, name in ((3, "A"), (20, "B"), (40, "A2")):
        window.workspace.do(NameSection(bar, name))
    rows = [window.sections.table.tree.topLevelItem(i).data(0, Qt.ItemDataRole.UserRole) for i in range(3)]
    assert rows[0].facts.look == rows[2].facts.look != rows[1].facts.look


def test_a_section_is_looped_and_merged(qtbot, window):
    window.workspace.do(NameSection(3, "Slack water"))
    window.workspace.do(NameSection(7, "Ebb"))
    table = window.sections.table
    click(qtbot, table, 0)
    qtbot.mouseClick(table.loop, Left)
    assert window.listening.choices.loop
    assert window.player.playing
    window.listening.play_stop()
    window.actions_by_id["toggle_loop"].trigger()
    click(qtbot, table, 1)
    table.tree.setFocus()
    qtbot.keyClick(table.tree, Key.Key_Delete)
    assert sections(window) == (Section(3, "Slack water"),)
    window.workspace.undo()
    assert len(sections(window)) == 2


def offered(qtbot, table, row):
    """What the menu under the right button offers on a row."""
    click(qtbot, table, row)
    place = table.tree.visualItemRect(table.tree.topLevelItem(row)).center()
    above = table.tree.viewport().mapToGlobal(place)
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, above)
    QApplication.sendEvent(table.tree.viewport(), event)
    qtbot.waitUntil(table.menu.isVisible, timeout=WAIT)
    words = [act.text() for act in table.menu.actions() if act.isVisible()]
    table.menu.close()
    return words


def test_the_menu_of_a_row_offers_what_can_be_done_with_it(qtbot, window):
    window.workspace.do(NameSection(30, "Slack water"))
    window.workspace.do(NameSection(60, "Ebb"))
    table = window.sections.table
    assert offered(qtbot, table, 0) == ["Rename", "Loop", "Remove"]
    assert offered(qtbot, table, 1) == ["Rename", "Loop", "Merge with the one before"]
    first = suggest(qtbot, window)[0]
    assert first.bar < 30
    assert offered(qtbot, table, 0) == ["Take over"]
    click(qtbot, table, 0)
    place = QPoint(30, table.tree.visualItemRect(table.tree.topLevelItem(0)).center().y())
    qtbot.mouseDClick(table.tree.viewport(), Left, pos=place)
    assert sections(window)[0] == first


def test_suggestions_are_shown_taken_over_one_by_one_or_all_and_undone(qtbot, window):
    table, lane = window.sections.table, window.timeline.sections
    said = []
    window.workspace.message.connect(said.append)
    found = suggest(qtbot, window)
    window.workspace.message.disconnect(said.append)
    assert len(found) > 5
    assert said[-1].text == f"{len(found)} sections are suggested: double click one to take it over."
    assert table.tree.topLevelItemCount() == len(found)
    assert table.tree.topLevelItem(0).font(0).italic()
    assert not sections(window)
    assert not table.suggest.isVisible()
    # One by a double click in the lane.
    second = found[1]
    time = next(line.time for line in window.workspace.state.grid.bar_lines if line.bar == second.bar)
    place = QPoint(round(window.span.x_of(time)) + 8, 10)
    qtbot.mouseClick(lane, Left, pos=place)
    assert window.workspace.selection == {(second.bar, 1)}
    assert f"{second.name} is suggested from bar {second.bar}" in tip(lane, place)
    qtbot.mouseDClick(lane, Left, pos=place)
    assert sections(window) == (second,)
    assert f"{second.name}, from bar {second.bar}" in tip(lane, place)
    assert window.workspace.state.history[-1] == f"Suggested section {second.name} taken over"
    # Some by the table.
    row = next(i for i in range(len(found)) if cells(table, i)[0] == found[3].name)
    click(qtbot, table, row)
    qtbot.mouseClick(table.some, Left)
    assert sections(window) == (second, found[3])
    # The one under the right button.
    third = found[2]
    time = next(line.time for line in window.workspace.state.grid.bar_lines if line.bar == third.bar)
    place = QPoint(round(window.span.x_of(time)) + 8, 10)
    QApplication.sendEvent(lane, QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, lane.mapToGlobal(place)))
    window.context_menu.close()
    window.actions_by_id["take_over_section"].trigger()
    assert sections(window) == (second, third, found[3])
    qtbot.mouseClick(table.every, Left)
    assert sections(window) == found
    assert not window.sections.hand.sections
    assert table.suggest.isVisible()
    assert not window.actions_by_id["drop_sections"].isEnabled()
    for _ in range(4):
        window.workspace.undo()
    assert not sections(window)


def test_suggestions_are_dropped_and_are_none_where_a_section_begins(qtbot, window):
    window.workspace.do(NameSection(1, "Theme"))
    found = suggest(qtbot, window)
    assert 1 not in {each.bar for each in found}
    assert window.actions_by_id["take_over_sections"].isEnabled()
    qtbot.mouseClick(window.sections.table.drop, Left)
    assert not window.sections.hand.sections
    assert sections(window) == (Section(1, "Theme"),)
    assert window.sections.table.tree.topLevelItemCount() == 1


def test_suggestions_follow_the_bars(qtbot, window):
    before = suggest(qtbot, window)
    told = []
    window.sections.hand.suggested.connect(told.append)
    line = next(line for line in window.workspace.state.grid.bar_lines if line.bar == 2)
    window.workspace.do(Place(Pin(line.time + 0.3, 2)))
    qtbot.waitUntil(lambda: settled(window) and not window.sections.hand._errands.busy, timeout=WAIT)
    window.sections.hand.suggested.disconnect(told.append)
    bars = {line.bar for line in window.workspace.state.grid.bar_lines}
    assert {section.bar for section in window.sections.hand.sections} <= bars
    assert before
    window.sections.hand.drop_sections()


def test_commands_say_why_they_cannot_be_done(window):
    for name in ("take_over_section", "take_over_sections", "drop_sections"):
        assert not window.actions_by_id[name].isEnabled()
        assert "No sections are suggested" in window.actions_by_id[name].toolTip()


def test_every_look_has_words_of_its_own():
    assert len({look_words(look) for look in range(12)}) == 12
