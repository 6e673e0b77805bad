"""Gestures on free passages, holds and sections."""

from __future__ import annotations

from dataclasses import replace

import pytest

from core import gestures
from core.document import COMMON_TIME, Document, Section
from core.edits import (
    MarkHold,
    MoveSection,
    NameSection,
    RemoveSection,
    UnmarkFree,
)
from core.errors import InputError
from core.grid import Grid, Pin
from core.metre import Metre, TimeSignature
from tests.core.free_grids import grid_of

# Bars of two seconds from 10.0 s on: bar n at 8 + 2n, bar 21 the last line.
GRID = grid_of(COMMON_TIME, [0.5] * 80, start=10.0)
DOCUMENT = Document(COMMON_TIME, (Pin(10.0, 1), Pin(12.0, 2), Pin(29.0, 11)))


def test_a_free_passage_has_beats_as_fast_as_around_it():
    # Two bars of three seconds each among bars of two seconds: twelve quarters at 120.
    grid = grid_of(COMMON_TIME, [0.5] * 16 + [0.75] * 8 + [0.5] * 16, start=10.0)
    edit = gestures.free(Document(), grid, 5, 6)
    assert edit.signature == TimeSignature(12, 4, (1,) * 12)
    assert (edit.begin, edit.end) == (18.0, 24.0)


def test_a_free_passage_in_a_compound_metre_has_compound_beats():
    metre = Metre.steady(TimeSignature(6, 8))
    grid = grid_of(metre, [0.6] * 8 + [1.2] * 3 + [1.8] + [0.6] * 8)
    assert gestures.free(Document(metre), grid, 5, 6).signature == TimeSignature(27, 8, (3,) * 9)


def test_a_long_free_passage_counts_longer_notes():
    metre = Metre.steady(TimeSignature(5, 16))
    grid = grid_of(metre, [0.1] * 20 + [10.0] * 5 + [0.1] * 20)
    signature = gestures.free(Document(metre), grid, 5, 5).signature
    assert signature.denominator == 8
    assert signature.numerator == 250


def test_a_free_passage_that_nothing_lies_beside_is_refused():
    grid = Grid(COMMON_TIME, GRID.beats[:5])
    with pytest.raises(InputError, match="no bar beside"):
        gestures.free(Document(), grid, 1, 1)


def test_a_free_bar_gets_back_as_many_bars_as_fit():
    grid = grid_of(COMMON_TIME, [0.5] * 16 + [1.5] * 4 + [0.5] * 16, start=10.0)
    assert gestures.unfree(replace(DOCUMENT, free=(5,)), grid, 5) == UnmarkFree(5, 3)
    with pytest.raises(InputError, match="has its pulse"):
        gestures.unfree(DOCUMENT, grid, 5)


def test_holds():
    grid = grid_of(COMMON_TIME, [0.5] * 16 + [1.5] * 4 + [0.5] * 16, start=10.0)
    assert gestures.hold(DOCUMENT, grid, 5, True) == MarkHold(5, True)
    assert gestures.hold(replace(DOCUMENT, holds=(5,)), grid, 5, False) == MarkHold(5, False)
    for bar, held, words in ((4, True, "Bar 4 is not held: it lasts no longer"), (5, False, "not held")):
        with pytest.raises(InputError, match=words):
            gestures.hold(DOCUMENT, grid, bar, held)
    with pytest.raises(InputError, match="held already"):
        gestures.hold(replace(DOCUMENT, holds=(5,)), grid, 5, True)


def test_sections():
    document = replace(DOCUMENT, sections=(Section(1, "A"), Section(9, "B")))
    assert gestures.name_section(document, GRID, 5, " Verse ") == NameSection(5, "Verse")
    assert gestures.remove_section(document, GRID, 9) == RemoveSection(9)
    assert gestures.move_section(document, GRID, 9, 10) == MoveSection(9, 10)
    for make, words in (
        (lambda: gestures.name_section(document, GRID, 5, "  "), "needs a name"),
        (lambda: gestures.name_section(document, GRID, 99, "A"), "not in the take"),
        (lambda: gestures.remove_section(document, GRID, 5), "No section"),
        (lambda: gestures.move_section(document, GRID, 9, 1), "Section A begins"),
        (lambda: gestures.move_section(document, GRID, 5, 6), "No section"),
    ):
        with pytest.raises(InputError, match=words):
            make()
