"""The picture shows the plan's own numbers, and is only looked at."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication

from app.colours import DARK, LIGHT
from app.handover.picture import FitPicture
from app.sayings import signed
from core.handover import plan
from core.handover_settings import Settings
from core.metre import Metre
from tests.app.handover.desk import GRID
from tests.core.free_grids import FOUR, grid_of

FEWEST = plan(GRID, Settings(name="evening", knots="fewest", tolerance=0.04))


@pytest.fixture
def picture(qtbot):
    made = FitPicture(LIGHT)
    qtbot.addWidget(made)
    made.resize(600, 300)
    made.show()
    made.show_plan(FEWEST)
    qtbot.waitExposed(made)
    QApplication.processEvents()
    return made


def over(picture, plot, time):
    """Point of the widget over a moment of a plot."""
    middle = plot.getViewBox().viewRange()[1]
    return picture.mapFromScene(plot.getViewBox().mapViewToScene(QPointF(time, sum(middle) / 2)))


def test_tempi_and_errors_are_those_of_the_plan(picture):
    x, y = picture._stems.getData()
    np.testing.assert_array_equal(x[::2], GRID.bar_times)
    np.testing.assert_allclose(y[1::2], 1000 * FEWEST.fit.bar_errors)
    assert not y[::2].any()
    x, y = picture._curve.getData()
    at = 0.5 * (x[::2] + x[1::2])
    quarters = FEWEST.fit.tempo_map.quarters_at(at)
    np.testing.assert_allclose(y[::2], FEWEST.fit.tempo_map.tempo_at(quarters))
    low, high = picture.error.getViewBox().viewRange()[1]
    assert low < -40 < 40 < high
    assert [line.isVisible() for line in picture._limits] == [True, True]
    assert [abs(line.value()) for line in picture._limits] == [40, 40]


def test_a_click_leads_to_the_nearest_bar_of_either_plot(picture, qtbot):
    line = GRID.bar_lines[7]
    for plot in (picture.tempo, picture.error):
        with qtbot.waitSignal(picture.went_to) as told:
            qtbot.mouseClick(
                picture.viewport(), Qt.MouseButton.LeftButton, pos=over(picture, plot, line.time + 0.2)
            )
        assert told.args == [line.bar]


def test_the_bar_under_the_pointer_is_named(picture, qtbot):
    line = GRID.bar_lines[7]
    qtbot.mouseMove(picture.viewport(), over(picture, picture.error, line.time))
    assert f"bar {line.bar}: {signed(1000 * FEWEST.fit.bar_errors[7], 3)} ms" in picture.error_title.text
    qtbot.mouseMove(picture.viewport(), QPoint(2, 2))
    assert "tolerance of 40 ms" in picture.error_title.text


def test_neither_dragging_nor_the_wheel_moves_it(picture, qtbot):
    before = picture.tempo.getViewBox().viewRange()
    at = over(picture, picture.tempo, 20.0)
    qtbot.mousePress(picture.viewport(), Qt.MouseButton.LeftButton, pos=at)
    qtbot.mouseMove(picture.viewport(), at + QPoint(80, 40))
    qtbot.mouseRelease(picture.viewport(), Qt.MouseButton.LeftButton, pos=at + QPoint(80, 40))
    wheel = QWheelEvent(
        *(QPointF(at), QPointF(picture.viewport().mapToGlobal(at)), QPoint(), QPoint(0, 120)),
        *(Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False),
    )
    QApplication.sendEvent(picture.viewport(), wheel)
    assert not wheel.isAccepted()
    qtbot.mouseClick(picture.viewport(), Qt.MouseButton.RightButton, pos=at)
    assert picture.tempo.getViewBox().viewRange() == before
    assert not [menu for menu in QApplication.topLevelWidgets() if menu.inherits("QMenu") and menu.isVisible()]


def test_a_bar_far_out_does_not_flatten_the_others(picture):
    lengths = np.full(160, 0.5)
    lengths[80:84] = 0.02
    picture.show_plan(plan(grid_of(Metre.steady(FOUR), lengths, start=1.0), Settings(name="evening")))
    low, high = picture.tempo.getViewBox().viewRange()[1]
    assert low < 120 < high < 400
    (beyond,) = picture._beyond.getData()[1]
    assert low < beyond < high
    assert len(picture._bars.getData()[1]) == 39
    assert not picture._limits[0].isVisible()


def test_the_dark_picture_differs(picture):
    light = picture.grab().toImage()
    picture.recolour(DARK)
    assert picture.grab().toImage().pixelColor(3, 3) != light.pixelColor(3, 3)
