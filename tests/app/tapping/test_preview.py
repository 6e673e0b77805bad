"""Lines that taps would place look like no other line, and each way of being in doubt like no other."""

from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QFont, QImage, QPainter

from app.colours import DARK, LIGHT
from app.span import Span
from app.tapping.preview import HIGH, TOP, Preview, paint_taps
from core.tapped import TappedLine

SURE = TappedLine(5, 1, 5.0, 0.9, True)
BETWEEN = TappedLine(6, 1, 7.0, 0.9, False)
UNSURE = TappedLine(7, 1, 9.0, 0.2, True)
BEAT = TappedLine(7, 2, 9.5, 0.9, True)


@pytest.fixture
def span(qapp):
    span = Span()
    span.set_duration(20.0)
    span.set_width(800)
    return span


def painted(paint, colours=LIGHT):
    image = QImage(800, 300, QImage.Format.Format_RGB32)
    image.fill(colours.lane)
    painter = QPainter(image)
    paint(painter)
    painter.end()
    pixels = np.frombuffer(image.constBits(), np.uint32).reshape(300, 800)
    return pixels & 0xFFFFFF


def shape(line, span, *, left_out=frozenset(), colours=LIGHT):
    """Which pixels around a line are not ground: its look without its colour."""
    preview = Preview([line], left_out)
    rect = QRect(0, 0, 800, 300)
    pixels = painted(lambda painter: preview.paint(painter, rect, span, colours), colours)
    x = round(span.x_of(line.time))
    return (pixels != colours.lane.rgb() & 0xFFFFFF)[:, x - 6 : x + 30]


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_every_kind_of_line_has_a_shape_of_its_own(span, colours):
    shapes = [shape(line, span, colours=colours) for line in (SURE, BETWEEN, UNSURE, BEAT)]
    shapes.append(shape(SURE, span, left_out=frozenset({(5, 1)}), colours=colours))
    for i, one in enumerate(shapes):
        assert one.any()
        assert not any(np.array_equal(one, other) for other in shapes[:i])


def test_a_flag_is_found_where_it_is_painted(span):
    preview = Preview([SURE, BETWEEN, UNSURE, BEAT])
    x = span.x_of(7.0)
    found = preview.flag_at(x + 4, TOP + HIGH / 2, span, QFont())
    assert found is not None
    assert (found.place, found.text) == ((6, 1), "6")
    assert preview.flag_at(x + 4, TOP + HIGH + 30, span, QFont()) is None
    assert Preview().flag_at(x, TOP + 2, span, QFont()) is None


def test_flags_have_numbers_as_far_as_there_is_room(span):
    close = Preview([TappedLine(bar, 1, 5.0 + 0.2 * bar, 0.9, True) for bar in range(1, 20)])
    flags = close.flags(span, QFont())
    assert [flag.text for flag in flags[:-1]] == [""] * 18
    assert flags[-1].text == "19"
    assert all(b.x - (a.x + a.width) >= 2 for a, b in pairwise(flags))
    assert next(flag.text for flag in Preview([UNSURE]).flags(span, QFont())) == "7?"


def test_a_tap_is_marked_where_it_was(span):
    pixels = painted(lambda painter: paint_taps(painter, QRect(0, 0, 800, 300), (4.0, 50.0), span, LIGHT))
    columns = np.flatnonzero((pixels == LIGHT.tapped.rgb() & 0xFFFFFF).any(axis=0))
    assert abs(columns.mean() - span.x_of(4.0)) < 1
