"""What is told of each section, and how sections look."""

import numpy as np
import pytest

from core.document import Section
from core.metre import Metre, TimeSignature
from core.section_looks import FILLS, LOOKS, PATTERNS, looks_of, root_of
from core.section_rows import section_rows
from tests.core.free_grids import FOUR, grid_of


def test_a_section_lasts_until_the_next_and_its_tempo_is_quarters_by_time():
    lengths = [0.5] * 16 + [1.0] * 8 + [0.5] * 6
    grid = grid_of(Metre(((1, FOUR), (7, TimeSignature(3, 4)))), lengths, start=2.0)
    rows = section_rows(
        grid, [Section(5, "B"), Section(1, "A"), Section(7, "C"), Section(9, "at the end"), Section(-3, "x")]
    )
    assert [(row.name, row.bar, row.end, row.bars) for row in rows] == [
        ("A", 1, 5, 4),
        ("B", 5, 7, 2),
        ("C", 7, 9, 2),
    ]
    assert [row.start for row in rows] == [2.0, 10.0, 18.0]
    assert [row.length for row in rows] == [8.0, 8.0, 3.0]
    assert [row.tempo for row in rows] == [120.0, 60.0, 120.0]
    assert [row.spread for row in rows] == [0.0, 0.0, 0.0]


def test_the_spread_is_the_standard_deviation_of_its_bars():
    grid = grid_of(Metre.steady(FOUR), [0.5] * 4 + [0.6] * 4 + [0.75] * 4)
    (row,) = section_rows(grid, [Section(1, "A")])
    assert row.spread == pytest.approx(np.std([120, 100, 80]))
    assert row.tempo == pytest.approx(60 * 12 / 7.4)
    assert section_rows(grid, []) == ()


def test_the_same_music_looks_the_same():
    names = ["A", "B", "A2", "C", "B'", "a 3"]
    assert looks_of(Section(i, name) for i, name in enumerate(names)) == (0, 1, 0, 2, 1, 0)
    assert looks_of([Section(1, "A"), Section(2, "B", 7), Section(3, "B2")]) == (0, 7, 1)
    assert root_of("Second theme 2") == "second theme"
    assert root_of("12") == "12"
    assert root_of("2nd idea") == "2nd idea"


def test_no_two_looks_share_both_colour_and_pattern():
    pairs = {(look % len(FILLS), look % len(PATTERNS)) for look in range(LOOKS)}
    assert len(pairs) == LOOKS


def test_text_on_every_fill_can_be_read():
    # W3C, Web Content Accessibility Guidelines 2.1, 1.4.3 and 1.4.6: contrast of at least 7 for small text.
    def light(code):
        parts = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        parts = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]

    for fill in FILLS:
        assert (light(fill) + 0.05) / (light("#20242a") + 0.05) >= 7
