"""The ruler: which times and bars get a text, and where they stand."""

import itertools
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QPalette, QWheelEvent
from PySide6.QtWidgets import QApplication

from app.colours import DARK, LIGHT
from app.span import Span
from app.timeline.ruler import GAP, ROW, Ruler, Text, clock, fitting, time_step
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from tests.app.timeline.hand import click
from tests.app.timeline.paper import is_colour, pixels
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid


@given(st.floats(1e-6, 20.0), st.floats(20, 120))
def test_texts_have_room_and_stand_at_round_times(seconds_per_pixel, room):
    step, parts = time_step(seconds_per_pixel, room)
    if step < 3600:
        assert step / seconds_per_pixel >= room * (1 - 1e-6)
    if step >= 10:
        assert 3600 % step == 0
    else:
        # 1, 2 or 5 with a power of ten: common practice, no source.
        assert f"{step:.0e}"[0] in "125"
        assert float(f"{step:.0e}") == pytest.approx(step)
    assert parts == 1 or step / parts / seconds_per_pixel >= 6


@given(st.integers(0, 6 * 3600 * 1000), st.sampled_from([0.001, 0.002, 0.05, 0.1, 0.5, 1.0, 2.0, 10.0, 60.0]))
def test_the_clock_says_the_time_it_stands_at(steps, step):
    time = steps * step
    if time > 6 * 3600:
        return
    text = clock(time, step)
    found = re.fullmatch(r"(\d+):([0-5]\d(?:\.\d+)?)", text)
    assert found, text
    assert 60 * int(found[1]) + float(found[2]) == pytest.approx(time, abs=1e-6)


def test_the_clock_never_says_sixty_seconds():
    assert clock(59.9996, 0.001) == "1:00.000"
    assert clock(59.9994, 0.001) == "0:59.999"
    assert clock(119.7, 1.0) == "2:00"
    assert clock(0.0, 10.0) == "0:00"


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(5, 60), st.booleans()), max_size=60))
def test_texts_never_touch_and_signs_of_metre_come_first(drawn):
    texts = [Text(x, width, "9", kept=kept) for x, width, kept in drawn]
    left = sorted(fitting(texts), key=lambda text: text.x)
    for before, after in itertools.pairwise(left):
        assert before.x + before.width + GAP <= after.x
    kept = sorted((text for text in texts if text.kept), key=lambda text: text.x)
    assert not kept or kept[0] in left
    for text in texts:
        touched = [o for o in left if text.x < o.x + o.width + GAP and o.x < text.x + text.width + GAP]
        assert text in left or touched


class Shown:
    def __init__(self, qtbot, grid: Grid | None, *, width: int = 1000, duration: float = 100.0):
        self.workspace = StillWorkspace(state_of(steady_grid(2), duration=duration))
        self.workspace.show(grid=grid)
        self.span = Span()
        self.span.set_width(width)
        self.span.set_duration(duration)
        self.ruler = Ruler(self.workspace, self.span)
        qtbot.addWidget(self.ruler)
        palette = QPalette(QColor("#f4f2ec"))
        self.ruler.setPalette(palette)
        self.ruler.resize(width, self.ruler.sizeHint().height())
        self.ruler.show()

    def cells(self) -> np.ndarray:
        return pixels(self.ruler.grab().toImage())


def test_bar_lines_have_ticks_where_they_are(qtbot):
    shown = Shown(qtbot, steady_grid(50, bar=2.0, start=0.5))
    row = is_colour(shown.cells(), LIGHT.suggested)[2 * ROW - 1]
    assert np.flatnonzero(row).tolist() == [round(10 * (0.5 + 2 * bar)) for bar in range(50)]


def test_beats_show_when_there_is_room(qtbot):
    shown = Shown(qtbot, steady_grid(50, bar=2.0, start=0.5))
    shown.span.show(10.0, 20.0)
    row = is_colour(shown.cells(), LIGHT.beat)[2 * ROW - 1]
    assert np.flatnonzero(row).tolist() == [50 * beat for beat in range(20) if (beat - 1) % 4 != 0]


def test_where_bars_crowd_their_ticks_are_thinned(qtbot):
    shown = Shown(qtbot, steady_grid(400, bar=0.25, start=0.0), width=300)
    ticks = np.flatnonzero(is_colour(shown.cells(), LIGHT.suggested)[2 * ROW - 1])
    assert np.diff(ticks).min() >= 4


def test_a_change_of_metre_is_written_at_its_bar(qtbot):
    metre = Metre(((1, TimeSignature(4, 4)), (6, TimeSignature(3, 4))))
    beats, time = [], 0.0
    for bar in range(1, 12):
        for beat in range(1, metre.at(bar).beats + 1):
            beats.append(Beat(time, bar, beat))
            time += 0.5
    beats.append(Beat(time, 12, 1))
    changed = Shown(qtbot, Grid(metre, tuple(beats)), duration=30.0)
    steady = Shown(qtbot, steady_grid(12, bar=2.0, start=0.0), duration=30.0)
    other = (changed.cells() != steady.cells()).any(axis=(0, 2))
    bar_6 = round(10.0 / 30.0 * 1000)
    assert np.flatnonzero(other)[0] > bar_6
    # A box around the sign: its upper edge is a line of the fainter colour.
    box = is_colour(changed.cells(), LIGHT.faint)[ROW + 2]
    runs = [len(list(group)) for inside, group in itertools.groupby(box[bar_6:].tolist()) if inside]
    assert runs[0] > 15


@pytest.mark.parametrize("x", [0, 250, 999])
def test_a_click_says_the_moment(qtbot, x):
    shown = Shown(qtbot, steady_grid(10))
    shown.span.show(20.0, 40.0)
    with qtbot.waitSignal(shown.ruler.clicked) as clicked:
        click(shown.ruler, x, 5)
    assert clicked.args == [pytest.approx(20.0 + x / 50)]


def test_the_wheel_zooms(qtbot):
    shown = Shown(qtbot, None)
    at = QPointF(400, 5)
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
    QApplication.sendEvent(shown.ruler, event)
    assert shown.span.end - shown.span.start < 100
    assert shown.span.time_at(400) == pytest.approx(40)


def test_another_palette_another_ground(qtbot):
    shown = Shown(qtbot, steady_grid(10))
    assert is_colour(shown.cells(), LIGHT.ground).mean() > 0.6
    shown.ruler.setPalette(QPalette(QColor("#171b20")))
    assert is_colour(shown.cells(), DARK.ground).mean() > 0.6


@pytest.mark.parametrize("length", [0.05, 0.3, 7.0, 100.0])
def test_without_bars_there_is_still_time(qtbot, length):
    shown = Shown(qtbot, None)
    shown.span.show(50.0, 50.0 + length)
    assert is_colour(shown.cells(), LIGHT.faint)[:ROW].any()
    assert not is_colour(shown.cells(), LIGHT.faint)[ROW + 1 :].any()
