"""The lane of sections under a real mouse and keyboard; what each gesture does is the project's own."""

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QContextMenuEvent, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.span import Span
from app.timeline.picking import SectionBlock
from app.timeline.section_lane import SectionLane
from core.document import Section
from core.edits import MoveSection
from tests.app.timeline.hand import click, double_click, drag, move, press, release
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid

SECTIONS = (Section(2, "Low water"), Section(6, "Slack"))


@pytest.fixture
def lane(qtbot):
    grid = steady_grid(11, bar=2.0, start=0.0)
    workspace, span = StillWorkspace(state_of(grid, duration=20.0, sections=SECTIONS)), Span()
    lane = SectionLane(workspace, span)
    lane.workspace = workspace
    qtbot.addWidget(lane)
    span.set_duration(20.0)
    span.set_width(1000)
    lane.resize(1000, lane.height())
    lane.show()
    workspace.show(document=state_of(grid, duration=20.0, sections=SECTIONS).document)
    return lane


def test_a_click_goes_to_a_section(lane, qtbot):
    with qtbot.waitSignal(lane.went_to) as caught:
        click(lane, 300, 10)
    assert caught.args == [2]


def test_a_double_click_renames_it(lane, qtbot):
    with qtbot.waitSignal(lane.rename_wanted) as caught:
        double_click(lane, 700, 10)
    assert caught.args == [6]


def test_an_edge_goes_from_bar_line_to_bar_line(lane):
    drag(lane, 500, 590, 10)
    assert lane.workspace.edits == [MoveSection(6, 7)]


def test_an_edge_does_not_pass_the_section_before(lane):
    drag(lane, 500, 20, 10)
    assert lane.workspace.edits == [MoveSection(6, 3)]


def test_escape_or_its_old_place_leave_an_edge_alone(lane):
    press(lane, 500, 10)
    move(lane, 600, 10)
    QTest.keyClick(lane, Qt.Key.Key_Escape)
    release(lane, 600, 10)
    drag(lane, 500, 520, 10)
    assert lane.workspace.edits == []


def test_keys_go_from_section_to_section_and_rename(lane, qtbot):
    lane.setFocus()
    for key, bar in ((Qt.Key.Key_Right, 6), (Qt.Key.Key_Right, 6), (Qt.Key.Key_Left, 2)):
        with qtbot.waitSignal(lane.went_to) as caught:
            QTest.keyClick(lane, key)
        assert caught.args == [bar]
    with qtbot.waitSignal(lane.rename_wanted) as caught:
        QTest.keyClick(lane, Qt.Key.Key_F2)
    assert caught.args == [2]


def test_the_lane_keeps_its_keys_from_shortcuts(lane):
    def kept(key):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Qt.KeyboardModifier.NoModifier)
        event.ignore()
        QApplication.sendEvent(lane, event)
        return event.isAccepted()

    assert kept(Qt.Key.Key_F2)
    assert not kept(Qt.Key.Key_Escape)
    press(lane, 500, 10)
    move(lane, 600, 10)
    assert kept(Qt.Key.Key_Escape)


def test_a_menu_is_asked_for(lane, qtbot):
    with qtbot.waitSignal(lane.menu_wanted) as caught:
        QApplication.sendEvent(
            lane, QContextMenuEvent(QContextMenuEvent.Reason.Mouse, QPoint(300, 5), QPoint(9, 9))
        )
    assert caught.args == [SectionBlock(2, 6.0), QPoint(9, 9)]


def test_sections_are_described(lane):
    assert lane.accessibleName() == "Sections"
    assert lane.accessibleDescription() == "Low water from bar 2, Slack from bar 6"


def test_without_sections_it_says_how_to_have_one(lane):
    workspace = lane.workspace
    workspace.show(document=state_of(workspace.state.grid, duration=20.0).document)
    bare = lane.grab().toImage()
    lane.hint = "Sections are named here"
    assert lane.grab().toImage() != bare
    click(lane, 300, 10)
    QTest.keyClick(lane, Qt.Key.Key_Right)


def test_without_a_take_it_is_empty(lane):
    lane.workspace.show(take=None, document=None, grid=None, onsets=None)
    click(lane, 300, 10)
    double_click(lane, 300, 10)
    assert not lane.grab().isNull()
    assert lane.accessibleDescription() == ""
