"""The tempo lane: where a tempo is drawn, and what a click does."""

import numpy as np
import pytest
from PySide6.QtCore import Qt

from app.span import Span
from app.state import State
from app.timeline.tempo_lane import PADDING, TempoLane
from core.fit import fit_bars
from tests.app.timeline.hand import click, move
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid


@pytest.fixture
def lane(qtbot):
    workspace, span = StillWorkspace(state_of(steady_grid(11, bar=2.0, start=0.0), duration=20.0)), Span()
    lane = TempoLane(workspace, span)
    lane.workspace, lane.span = workspace, span
    qtbot.addWidget(lane)
    span.set_duration(20.0)
    span.set_width(1000)
    lane.resize(1000, 120)
    lane.show()
    return lane


def pixels(lane):
    image = lane.grab().toImage().convertToFormat(lane.grab().toImage().Format.Format_Grayscale8)
    shape = (image.height(), image.bytesPerLine())
    return np.frombuffer(image.constBits(), np.uint8).reshape(shape)[:, : image.width()].astype(int)


def test_a_click_selects_the_bar_and_goes_there(lane, qtbot):
    with qtbot.waitSignal(lane.went_to) as caught:
        click(lane, 330, 60)
    assert caught.args == [4]
    assert lane.workspace.selection == {(4, 1)}


def test_a_click_after_the_last_bar_does_nothing(lane):
    lane.workspace.show(grid=steady_grid(4, bar=2.0, start=0.0))
    click(lane, 900, 60)
    assert lane.workspace.selection == frozenset()


def test_every_bar_has_its_dot_at_the_height_of_its_tempo(lane):
    scale = lane.scale()
    y = round(scale.y_of(120.0, PADDING, lane.height() - PADDING - 1))
    picture = pixels(lane)
    for bar in range(2, 9):
        x = 100 * bar + 50
        assert (np.abs(picture[y - 3 : y + 4, x] - picture[y - 6, x]) > 30).any()


def test_the_fitted_tempi_are_drawn_over_it(lane):
    bare = pixels(lane)
    lane.set_fit(fit_bars(lane.workspace.state.grid))
    drawn = pixels(lane)
    y = round(lane.scale().y_of(120.0, PADDING, lane.height() - PADDING - 1))
    assert (drawn[y, 300:700] != bare[y, 300:700]).mean() > 0.9
    lane.set_fit(None)
    assert (pixels(lane) == bare).all()


def test_hover_says_bar_and_tempo(lane):
    bare = pixels(lane)
    move(lane, 550, 60, button=Qt.MouseButton.NoButton)
    assert (pixels(lane) != bare).any()


def test_a_bar_held_long_is_pointed_to_and_not_drawn_to_scale(lane):
    grid = steady_grid(11, bar=2.0, start=0.0)
    beats = [beat if beat.time < 18.0 else type(beat)(beat.time + 30, beat.bar, beat.beat) for beat in grid.beats]
    lane.workspace.show(grid=type(grid)(grid.metre, tuple(beats)))
    assert lane.scale().beyond(7.5) == -1
    assert lane.scale().low > 90


def test_the_usual_tempo_is_described(lane):
    lane.workspace.show(grid=steady_grid(11, bar=1.5))
    assert lane.accessibleDescription() == "160 quarters a minute in the middle"


def test_without_bars_it_is_empty(qtbot):
    workspace = StillWorkspace(State())
    lane = TempoLane(workspace, Span())
    qtbot.addWidget(lane)
    lane.resize(300, 100)
    assert lane.scale() is None
    click(lane, 50, 50)
    assert not lane.grab().isNull()
    workspace.show(grid=steady_grid(1))
    assert lane.scale() is None
    assert not lane.grab().isNull()
