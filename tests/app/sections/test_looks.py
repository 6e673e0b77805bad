"""How sections are painted: names can be read on every look, and no two looks can be taken for each other."""

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage, QPainter

from app.colours import DARK, LIGHT
from app.sections.looks import SWATCH, look_words, paint_look, swatch
from core.section_looks import LOOKS
from tests.app.test_colours import TEXT, contrast

SIZE = 48


def pixels(image):
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1, 4)
    return rows[:, : image.width(), :3].astype(float)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_names_can_be_read_on_fill_and_pattern(qapp, colours):
    for look in range(LOOKS):
        image = QImage(SIZE, SIZE, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        paint_look(painter, QRect(0, 0, SIZE, SIZE), look, colours)
        painter.end()
        # WCAG 2.2, success criterion 1.4.3.
        seen = {image.pixelColor(x, y).rgb() for x in range(SIZE) for y in range(SIZE)}
        for x, y in ((x, y) for x in range(SIZE) for y in range(SIZE)):
            if (rgb := image.pixelColor(x, y)).rgb() in seen:
                seen.remove(rgb.rgb())
                assert contrast(colours.text, rgb) >= TEXT, (look_words(look), rgb.name())


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_no_two_small_pictures_can_be_taken_for_each_other(qapp, colours):
    pictures = [pixels(swatch(look, colours, 2.0).pixmap(SWATCH * 2).toImage()) for look in range(LOOKS)]
    # Where the hue is the same the pattern alone must do: in a dozen pixels at least, clearly.
    for one, other in combinations(range(LOOKS), 2):
        clear = np.abs(pictures[one] - pictures[other]).max(axis=2) >= 40
        faint = np.abs(pictures[one] - pictures[other]).mean()
        assert clear.sum() >= 12 or faint >= 6, (look_words(one), look_words(other))
    assert len({look_words(look) for look in range(LOOKS)}) == LOOKS
