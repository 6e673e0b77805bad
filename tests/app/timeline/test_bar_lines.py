"""How bar lines look, read back from the pixels: kinds told apart without colour, numbers that keep clear."""

from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage, QPainter

from app.colours import DARK, LIGHT
from app.span import Span
from app.timeline import bar_lines
from app.timeline.bar_lines import Look, paint_bar_lines
from app.timeline.lines import Lines
from app.timeline.picking import HEAD
from core.grid import Grid
from tests.app.timeline.still_workspace import steady_grid

pytestmark = pytest.mark.usefixtures("qapp")
GRID = steady_grid(11, bar=2.0, start=0.0, placed={(3, 1), (8, 3)}, doubtful={(5, 1)})


def grey(lines: Lines, *, width=1000, height=300, seconds=20.0, colours=LIGHT, **look):
    """Brightness of each pixel, rows first, as someone who sees no colour would have it."""
    span = Span()
    span.set_width(width)
    span.set_duration(seconds)
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(colours.lane)
    painter = QPainter(image)
    paint_bar_lines(painter, QRect(0, 0, width, height), lines, span, colours, look=Look(**look))
    painter.end()
    image = image.convertToFormat(QImage.Format.Format_Grayscale8)
    return np.frombuffer(image.constBits(), np.uint8).reshape(height, image.bytesPerLine())[:, :width].astype(int)


def column(picture, x, reach=4):
    """Which pixels around a line differ from the ground, without those of its head."""
    part = picture[HEAD + 6 :, x - reach : x + reach + 1]
    return np.abs(part - picture[HEAD + 6, x - reach - 2]) > 12


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_weight_and_dashes_tell_the_kinds_apart_without_colour(colours):
    picture = grey(Lines(GRID), colours=colours)
    suggested, placed, doubtful = (column(picture, x) for x in (100, 200, 400))
    assert suggested.all(axis=0).sum() == 1
    assert placed.all(axis=0).sum() == 3
    share = doubtful.any(axis=1).mean()
    assert 0.4 < share < 0.8


def test_heads_tell_them_apart_too():
    picture = grey(Lines(GRID))
    ground = picture[HEAD + 10, 150]

    def filled(x):
        return (picture[2:16, x - 6 : x + 7] != ground).mean()

    assert filled(200) > 0.75 > 0.6 > filled(100)
    # A diamond has its corner where an outlined head has its edge.
    assert picture[2, 100 - 7] != ground
    assert picture[2, 400 - 7] == ground


def test_beats_are_shorter_and_a_placed_one_is_marked():
    picture = grey(Lines(GRID))
    top, bottom = picture[HEAD + 4], picture[290]
    assert top[125] == top[140]
    assert bottom[125] != bottom[140]
    beat = column(picture, 125)[150:]
    assert beat.all(axis=0).sum() == 1
    assert column(picture, 750)[150:].all(axis=0).sum() == 2


def test_a_line_in_the_hand_is_left_out():
    assert not column(grey(Lines(GRID), moving=(3, 1)), 200).any()


def test_suggestions_on_their_way_out_are_fainter_and_placed_lines_are_not():
    now, old = grey(Lines(GRID)), grey(Lines(GRID), pending=True)
    row = 290
    assert now[row, 100] < old[row, 100] < now[row, 110]
    assert now[row, 200] == old[row, 200]


def test_hover_selection_and_focus_each_look_different():
    looks = [{}, {"hover": (4, 1)}, {"selection": frozenset({(4, 1)})}, {"focus": (4, 1)}]
    pictures = [grey(Lines(GRID), **look)[:, 280:320].tobytes() for look in looks]
    assert len(set(pictures)) == 4


def test_a_selected_line_shows_however_many_are_left_out():
    lines = Lines(steady_grid(2001, bar=2.0, start=0.0))
    picture = grey(lines, seconds=4000.0, selection=frozenset({(1002, 1)}))
    assert (picture[290:] != grey(lines, seconds=4000.0)[290:]).any()


@pytest.mark.parametrize("bars", [8, 60, 400, 4000])
@pytest.mark.parametrize("width", [300, 1600])
def test_numbers_never_touch(bars, width, monkeypatch):
    edges = []

    def keep(painter, rect, x, text, colour, colours, *, doubtful, **_):
        text_width = painter.fontMetrics().horizontalAdvance(text)
        edges.append(bar_lines.head_edges(x, text_width, rect.width(), doubtful=doubtful))

    monkeypatch.setattr(bar_lines, "paint_head", keep)
    rng = np.random.default_rng(bars)
    marks = {(int(bar), 1) for bar in rng.integers(1, bars, 20)}
    grey(
        Lines(steady_grid(bars, bar=2.0, start=0.0, doubtful=marks)),
        width=width,
        seconds=2.0 * bars,
        selection=frozenset(list(marks)[:3]),
        hover=(3, 1),
    )
    edges.sort()
    assert edges
    assert all(right < left for (_, right), (left, _) in pairwise(edges))


def test_a_grid_without_bars_paints_nothing():
    empty = Lines(Grid(GRID.metre, ()))
    assert (grey(empty) == grey(empty)[0, 0]).all()
