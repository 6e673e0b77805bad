"""Rectangles from arrays, against the pixels they should cover."""

import numpy as np
import pytest
from PySide6.QtGui import QColor

from app.timeline.rects import fill_rects
from tests.app.timeline.paper import is_colour, painted

RED = QColor("#c02020")


@pytest.fixture(autouse=True)
def _application(qapp):
    """Painting needs an application."""


def test_each_covers_its_pixels_and_no_other():
    def paint(painter):
        fill_rects(painter, RED, x=[2, 10], y=[1, 4], width=[3, 1], height=[2, 5])

    expected = np.zeros((12, 20), bool)
    expected[1:3, 2:5] = expected[4:9, 10:11] = True
    np.testing.assert_array_equal(is_colour(painted(paint, 20, 12), RED), expected)


@pytest.mark.parametrize("ratio", [1.0, 1.25, 1.5, 2.0])
def test_columns_of_one_physical_pixel_meet_without_a_seam(ratio):
    columns = round(40 * ratio)

    def paint(painter):
        fill_rects(painter, RED, x=np.arange(columns) / ratio, y=0, width=1 / ratio, height=8)

    assert is_colour(painted(paint, 40, 8, ratio=ratio), RED).all()


def test_none_at_all_is_no_trouble():
    assert (painted(lambda painter: fill_rects(painter, RED, x=[], y=0, width=1, height=1), 5, 5) == 255).all()
