"""The lanes on the real workspace: from the mouse through the worker process to new bars on screen."""

from pathlib import Path

import pytest
from PySide6.QtTest import QTest

from app.span import Span
from app.timeline.lines import lines_of
from app.timeline.timeline import Timeline
from app.workspace import Workspace
from tests.app.timeline.hand import double_click, drag

FERRY = Path(__file__).parents[3] / "examples" / "night-ferry.mid"
Y = 150


@pytest.fixture
def workspace(qapp):
    workspace = Workspace()
    yield workspace
    workspace.stop()


def test_bars_are_put_right_by_mouse_and_no_placed_line_moves(workspace, qtbot):
    span = Span()
    timeline = Timeline(workspace, span)
    qtbot.addWidget(timeline)
    timeline.resize(1400, 600)
    timeline.show()

    def settled():
        return workspace.state.grid is not None and not workspace.state.pending

    def line(place):
        return lines_of(workspace.state.grid).line(place)

    workspace.open(FERRY)
    qtbot.waitUntil(lambda: settled() and workspace.pictured is not None, timeout=60_000)
    stage = timeline.stage
    bars = lines_of(workspace.state.grid).bar_number.tolist()
    first, second = (bars[5], 1), (bars[9], 1)
    timeline.zoom_to(bars[3], 10)

    double_click(stage, span.x_of(line(first).time), Y)
    assert workspace.state.history[0].startswith(f"Bar {first[0]} placed")
    kept = line(first).time
    qtbot.waitUntil(settled, timeout=20_000)
    assert line(first).placed

    x = span.x_of(line(second).time)
    drag(stage, x, x + 14, Y)
    wanted = workspace.state.document.pins[-1].time
    assert line(second).time == wanted
    qtbot.waitUntil(settled, timeout=20_000)
    assert (line(first).time, line(second).time) == (kept, wanted)
    assert workspace.state.at == 2

    before = stage.grab().toImage()
    workspace.undo()
    QTest.qWait(1)
    assert not line(second).placed
    assert stage.grab().toImage() != before
