"""Text can be read: contrast by the formula of WCAG 2.2 (relative luminance; success criteria 1.4.3, 1.4.11)."""

import pytest
from PySide6.QtGui import QColor, QPalette

from app.colours import DARK, LIGHT, Colours
from app.theme import palette_for

TEXT, MARK = 4.5, 3.0


def luminance(colour: QColor) -> float:
    parts = (colour.redF(), colour.greenF(), colour.blueF())
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: QColor, other: QColor) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_values_of_the_standard():
    # WCAG 2.2, definition of contrast ratio: from 1 to 21.
    assert contrast(QColor("black"), QColor("white")) == pytest.approx(21)
    assert contrast(QColor("#777777"), QColor("#777777")) == 1


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
class TestContrast:
    def test_text_on_every_ground_it_is_written_on(self, colours: Colours):
        for ground in (colours.ground, colours.lane, colours.lane_odd):
            for text in (colours.text, colours.faint, colours.warning, colours.doubtful, colours.suggested):
                assert contrast(text, ground) >= TEXT, (text.name(), ground.name())

    def test_names_of_sections(self, colours: Colours):
        for ground in colours.sections:
            assert contrast(colours.text, ground) >= TEXT, ground.name()

    def test_marks_that_carry_a_meaning(self, colours: Colours):
        for mark in (
            colours.placed,
            colours.suggested,
            colours.doubtful,
            colours.note,
            colours.tempo,
            colours.snap,
        ):
            assert contrast(mark, colours.lane) >= MARK, mark.name()

    def test_what_is_chosen_in_a_list(self, colours: Colours):
        palette = palette_for(colours)
        role = QPalette.ColorRole
        assert contrast(palette.color(role.HighlightedText), palette.color(role.Highlight)) >= TEXT
        assert contrast(palette.color(role.ButtonText), palette.color(role.Button)) >= TEXT
        assert contrast(palette.color(role.PlaceholderText), palette.color(role.Base)) >= TEXT
        assert contrast(palette.color(role.ToolTipText), palette.color(role.ToolTipBase)) >= TEXT
