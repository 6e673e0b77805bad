"""The overview under a real mouse and keyboard, and what it shows."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QPalette, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.colours import DARK, LIGHT
from app.span import SHORTEST, Span
from app.timeline.overview import EDGE, GRAB, HEIGHT, Overview, part_at
from core.document import Section
from tests.app.timeline.hand import click, drag, move
from tests.app.timeline.paper import is_colour, pixels
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid

MIDDLE = HEIGHT / 2


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(-50, 1050))
def test_every_part_of_the_frame_can_be_taken_however_narrow(one, other, x):
    left, right = min(one, other), max(one, other)
    assert part_at((left + right) / 2, left, right) == "inside"
    parts = [part_at(at, left, right) for at in np.linspace(left - 20, right + 20, 400)]
    order = [part for i, part in enumerate(parts) if i == 0 or part != parts[i - 1]]
    if right - left < 150:
        assert order == ["outside", "left", "inside", "right", "outside"]
    if x < left - 20 or x > right + 20:
        assert part_at(x, left, right) == "outside"


class CountingPicture:
    def __init__(self):
        self.paints = 0

    def paint(self, painter, rect, span, colours):
        self.paints += 1
        self.shown = span.start, span.end, span.width
        painter.fillRect(rect, QColor("#00ff00"))


class Strip:
    """1000 pixels for 100 seconds, 40 to 60 s on screen."""

    def __init__(self, qtbot, grid=None, **document):
        grid = grid or steady_grid(45, bar=2.0, start=5.0)
        self.workspace = StillWorkspace(state_of(grid, duration=100.0, **document))
        self.span = Span()
        self.span.set_width(1000)
        self.span.set_duration(100.0)
        self.span.show(40.0, 60.0)
        self.overview = Overview(self.workspace, self.span)
        qtbot.addWidget(self.overview)
        self.overview.setPalette(QPalette(QColor("#f4f2ec")))
        self.overview.resize(1000, self.overview.sizeHint().height())
        self.overview.show()

    @property
    def part(self):
        return pytest.approx((self.span.start, self.span.end))

    def cells(self) -> np.ndarray:
        return pixels(self.overview.grab().toImage())


def test_the_frame_is_dragged(qtbot):
    strip = Strip(qtbot)
    drag(strip.overview, 500, 700, MIDDLE)
    assert strip.part == (60.0, 80.0)
    drag(strip.overview, 700, 2000, MIDDLE)
    assert strip.part == (80.0, 100.0)


def test_an_edge_is_dragged_and_the_other_stays(qtbot):
    strip = Strip(qtbot)
    drag(strip.overview, 400, 300, MIDDLE)
    assert strip.part == (30.0, 60.0)
    drag(strip.overview, 600, 900, MIDDLE)
    assert strip.part == (30.0, 90.0)
    drag(strip.overview, 300, 950, MIDDLE)
    assert strip.part == (90.0 - SHORTEST, 90.0)


def test_an_edge_is_not_dragged_out_of_the_take(qtbot):
    strip = Strip(qtbot)
    drag(strip.overview, 400, -300, MIDDLE)
    assert strip.part == (0.0, 60.0)
    drag(strip.overview, 600, 5000, MIDDLE)
    assert strip.part == (0.0, 100.0)


def test_an_edge_taken_beside_itself_does_not_jump(qtbot):
    strip = Strip(qtbot)
    drag(strip.overview, 400 - GRAB + 1, 400 - GRAB + 1, MIDDLE)
    assert strip.part == (40.0, 60.0)


def test_a_click_elsewhere_centres_there_and_the_frame_can_be_dragged_on(qtbot):
    strip = Strip(qtbot)
    click(strip.overview, 200, MIDDLE)
    assert strip.part == (10.0, 30.0)
    drag(strip.overview, 800, 850, MIDDLE)
    assert strip.part == (75.0, 95.0)


def test_the_pointer_shows_what_can_be_taken(qtbot):
    strip = Strip(qtbot)
    shapes = []
    for x in (100, 400, 500, 600):
        move(strip.overview, x, MIDDLE, button=Qt.MouseButton.NoButton)
        shapes.append(strip.overview.cursor().shape())
    assert shapes[1] == shapes[3]
    assert len(set(shapes)) == 3


def test_keys_scroll_and_zoom(qtbot):
    strip = Strip(qtbot)
    strip.overview.setFocus()

    def after(key):
        QTest.keyClick(strip.overview, key)
        return strip.span.start, strip.span.end

    assert after(Qt.Key.Key_Right) == pytest.approx((42.0, 62.0))
    assert after(Qt.Key.Key_Left) == pytest.approx((40.0, 60.0))
    start, end = after(Qt.Key.Key_Up)
    assert 40 < start < 50 < end < 60
    assert start + end == pytest.approx(100)
    assert after(Qt.Key.Key_Down) == pytest.approx((40.0, 60.0))
    assert after(Qt.Key.Key_PageDown) == pytest.approx((60.0, 80.0))
    assert after(Qt.Key.Key_PageUp) == pytest.approx((40.0, 60.0))
    assert after(Qt.Key.Key_End) == pytest.approx((80.0, 100.0))
    assert after(Qt.Key.Key_Home) == pytest.approx((0.0, 20.0))


def test_the_wheel_zooms_at_the_moment_under_the_pointer(qtbot):
    strip = Strip(qtbot)
    at = QPointF(450, MIDDLE)
    event = QWheelEvent(
        at,
        at,
        QPoint(),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    before = strip.span.x_of(45.0)
    QApplication.sendEvent(strip.overview, event)
    assert strip.span.end - strip.span.start < 20
    assert strip.span.x_of(45.0) == pytest.approx(before)


def test_it_can_be_reached_and_shows_that_it_is(qtbot):
    strip = Strip(qtbot)
    strip.overview.activateWindow()
    assert strip.overview.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert strip.overview.accessibleName()
    assert strip.overview.accessibleDescription()
    without = strip.cells()
    strip.overview.setFocus()
    qtbot.waitUntil(strip.overview.hasFocus)
    ring = is_colour(strip.cells(), LIGHT.text) & ~is_colour(without, LIGHT.text)
    assert ring[0].all()
    assert ring[:EDGE, 0].all()


def test_placed_bars_are_marked_above_and_doubtful_ones_below_by_shape(qtbot):
    grid = steady_grid(45, bar=2.0, start=5.0, placed={(6, 1), (20, 1), (21, 2)}, doubtful={(11, 1), (12, 3)})
    cells = Strip(qtbot, grid).cells()
    placed, doubtful = is_colour(cells, LIGHT.placed), is_colour(cells, LIGHT.doubtful, within=40)
    assert not placed[EDGE:].any()
    assert not doubtful[: HEIGHT - EDGE].any()
    for bar, marks in ((6, placed), (20, placed), (11, doubtful)):
        x = round(10 * (5.0 + 2.0 * (bar - 1)))
        assert marks[:, x - 4 : x + 5].any()
        marks[:, x - 6 : x + 7] = False
    assert not placed.any()
    assert not doubtful.any()
    # A triangle is filled and narrows downwards; a diamond is hollow.
    again = Strip(qtbot, grid).cells()
    widths = is_colour(again, LIGHT.placed)[:EDGE, 140:161].sum(axis=1)
    assert widths[2] > widths[6] > 0
    assert is_colour(again, LIGHT.ground)[HEIGHT - EDGE // 2, 250]


def test_marks_that_would_run_into_one_another_are_thinned(qtbot):
    grid = steady_grid(400, bar=0.2, start=5.0, placed={(bar, 1) for bar in range(1, 401)})
    row = is_colour(Strip(qtbot, grid).cells(), LIGHT.placed)[2]
    assert row.any()
    assert not row.all()


def test_sections_are_tinted_from_their_first_bar_on(qtbot):
    strip = Strip(qtbot, sections=(Section(3, "One"), Section(10, "Two")))
    strip.span.fit()
    cells = strip.cells()[30]
    first, second = (is_colour(cells, colour) for colour in LIGHT.sections[:2])
    assert first[100:220].all()
    assert second[240:900].all()
    assert is_colour(cells, LIGHT.lane)[20:80].all()


def test_beside_the_frame_the_take_is_veiled(qtbot):
    strip = Strip(qtbot)
    strip.overview.set_picture(CountingPicture())
    green = is_colour(strip.cells(), QColor("#00ff00"))[20]
    inside = np.flatnonzero(green)
    assert (inside[0], inside[-1]) == (402, 597)


def test_the_take_is_painted_once_however_one_scrolls(qtbot):
    strip = Strip(qtbot)
    picture = CountingPicture()
    strip.overview.set_picture(picture)
    strip.cells()
    assert picture.paints == 1
    assert picture.shown == (0.0, 100.0, 1000)
    for start in (0, 10, 20):
        strip.span.show(start, start + 30)
        strip.cells()
    assert picture.paints == 1
    strip.workspace.show(grid=steady_grid(30, bar=3.0, start=5.0))
    strip.cells()
    assert picture.paints == 2
    strip.overview.setPalette(QPalette(QColor("#171b20")))
    assert is_colour(strip.cells(), DARK.ground).any()
    assert picture.paints == 3
    strip.overview.resize(800, HEIGHT)
    strip.cells()
    assert picture.paints == 4


def test_without_a_take_or_bars_it_is_a_quiet_strip(qtbot):
    strip = Strip(qtbot)
    strip.workspace.show(grid=None, document=None)
    strip.cells()
    strip.workspace.show(take=None)
    assert is_colour(strip.cells(), LIGHT.ground).all()
