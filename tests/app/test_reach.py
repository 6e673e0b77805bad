"""Everything can be reached and is named without a pointer: by Tab, and to a screen reader."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QWidget

from tests.app.shell import opened, window_of
from tests.app.takes import play_midi

MOST = 200
"""Steps after which Tab should have been everywhere."""


@pytest.fixture(scope="module")
def window(qapp, tmp_path_factory):
    folder = tmp_path_factory.mktemp("reach")
    with window_of(folder) as window:
        window.test_take = play_midi(folder / "take.mid", phrases=2).path
        yield window


def walked(qtbot, window) -> list[QWidget]:
    """Where Tab leads, from the first widget round to it again."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    window.setFocus()
    places: list[QWidget] = []
    for _ in range(MOST):
        # A table keeps Tab for its cells, as everywhere; Ctrl+Tab leaves it.
        qtbot.keyClick(QApplication.focusWidget() or window, Qt.Key.Key_Tab)
        here = QApplication.focusWidget()
        assert here is not None
        if places and here is places[0]:
            return places
        places.append(here)
    raise AssertionError("Tab does not come round")


def named(widget: QWidget) -> str:
    interface = QAccessible.queryAccessibleInterface(widget)
    return interface.text(QAccessible.Text.Name) if interface is not None else ""


PAGES = ("show_timeline", "show_bar_stack", "show_hand_over")


def within(widget: QWidget, reached: set[QWidget]) -> bool:
    return any(widget is one or widget.isAncestorOf(one) or one.isAncestorOf(widget) for one in reached)


@pytest.mark.parametrize("page", PAGES)
def test_tab_goes_everywhere_and_everything_there_has_a_name(qtbot, window, page):
    if window.workspace.state.take is None:
        opened(qtbot, window, window.test_take)
    window.actions_by_id[page].trigger()
    QApplication.processEvents()
    if page == "show_hand_over":
        qtbot.waitUntil(lambda: window.hand_over.plan is not None, timeout=10_000)
    reached = walked(qtbot, window)
    assert len(set(reached)) == len(reached)
    for widget in reached:
        assert named(widget), f"{type(widget).__name__} {widget.objectName()} has no name"
    wanted = [
        widget
        for widget in window.findChildren(QWidget)
        if widget.isVisible() and widget.isEnabled() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
    ]
    missed = [widget for widget in wanted if not within(widget, set(reached))]
    assert not missed, [(widget, widget.parent()) for widget in missed]


def test_tab_goes_from_above_to_below_and_from_left_to_right(qtbot, window):
    if window.workspace.state.take is None:
        opened(qtbot, window, window.test_take)
    window.actions_by_id["show_hand_over"].trigger()
    qtbot.waitUntil(lambda: window.hand_over.plan is not None, timeout=10_000)
    form = [one for one in walked(qtbot, window) if window.hand_over.form.isAncestorOf(one)]
    heights = [one.mapTo(window.hand_over.form, QPoint(0, 0)).y() for one in form]
    assert heights == sorted(heights)
    tools = [one for one in walked(qtbot, window) if window.tools.isAncestorOf(one)]
    across = [one.mapTo(window, QPoint(0, 0)).x() for one in tools]
    assert across == sorted(across)


def test_every_page_of_an_empty_window_is_reached(qtbot, tmp_path):
    with window_of(tmp_path) as empty:
        reached = walked(qtbot, empty)
        assert {empty.empty.open, empty.empty.example} <= set(reached)
        assert all(named(widget) for widget in reached)
