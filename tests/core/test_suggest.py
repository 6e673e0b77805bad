"""From documents to grids: placed lines kept, free bars even, holds divided, answers that hang on nothing else."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from core import gestures
from core.document import Document
from core.errors import PinError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.read_take import read_take
from core.shown import shown
from core.suggest import MOST_TRACKERS, Suggester

SIX = TimeSignature(6, 8)


@pytest.fixture(scope="module")
def onsets() -> Onsets:
    return find_onsets(read_take(Path(__file__).parents[2] / "examples" / "night-ferry.mid"))


@pytest.fixture(scope="module")
def suggester(onsets) -> Suggester:
    return Suggester(onsets)


@pytest.fixture
def document(suggester) -> Document:
    """The example with its first two bar lines placed where they are suggested."""
    bare = Document(Metre.steady(SIX, Fraction(1, 2)))
    lines = suggester.grid(bare).bar_lines
    return replace(bare, pins=(Pin(lines[0].time, 1), Pin(lines[1].time, 2)))


def test_the_answer_depends_on_the_document_alone(onsets, suggester, document):
    grid = suggester.grid(document)
    asked = [document]
    for make in (
        lambda: gestures.free(document, grid, 5, 6),
        lambda: gestures.change_metre(document, grid, 9, TimeSignature(3, 4)),
        lambda: gestures.place_at(document, grid, grid.bar_lines[8].time + 0.02),
        lambda: gestures.halve(document, grid, 4, 5),
    ):
        asked.append(make().apply(document))
    first = [suggester.grid(each) for each in asked]
    order = list(range(len(asked)))
    random.Random(3).shuffle(order)
    fresh = Suggester(onsets)
    assert {i: fresh.grid(asked[i]) for i in order} == dict(enumerate(first))


def test_a_free_bar_has_even_beats_between_its_placed_ends(suggester, document):
    grid = suggester.grid(document)
    begin, end = shown(grid, 5).time, shown(grid, 8).time
    after = gestures.free(document, grid, 5, 7).apply(document)
    freed = suggester.grid(after)
    beats = [beat for beat in freed.beats if beat.bar == 5]
    edges = np.array([*(beat.time for beat in beats), shown(freed, 6).time])
    assert (edges[0], edges[-1]) == (begin, end)
    np.testing.assert_allclose(np.diff(edges), (end - begin) / len(beats), rtol=1e-9)
    assert shown(freed, 5).placed
    assert shown(freed, 6).placed
    assert freed.metre == after.metre
    # As fast as the two bars on each side, to the nearest beat.
    around = np.median([np.diff([line.time for line in grid.bar_lines])[i] / 2 for i in (2, 3, 7, 8)])
    assert len(beats) == pytest.approx((end - begin) / around, abs=0.51)


def test_what_lies_around_a_free_bar_stays(suggester, document):
    grid = suggester.grid(document)
    freed = suggester.grid(gestures.free(document, grid, 1, 2).apply(document))
    old, new = grid.bar_times, freed.bar_times
    assert len(new) == len(old) - 1
    np.testing.assert_allclose(new, np.delete(old, 1), atol=0.01)


def test_a_hold_divides_its_bar_and_one_that_needs_none_is_left(suggester, document):
    grid = suggester.grid(document)
    long = replace(document, pins=(*document.pins, Pin(grid.bar_lines[4].time, 5), Pin(grid.bar_lines[7].time, 6)))
    held = suggester.grid(replace(long, holds=(5,)))
    assert held.metre.at(5).beats > 2
    assert held.metre.at(6) == SIX
    assert suggester.grid(replace(document, holds=(5,))) == grid


def test_a_document_that_cannot_be_obeyed_raises_and_does_no_harm(suggester, document):
    before = suggester.grid(document)
    with pytest.raises(PinError, match="outside the take"):
        suggester.grid(replace(document, pins=(*document.pins, Pin(9e5, 900))))
    assert suggester.grid(document) == before


def test_few_trackers_are_kept(suggester, document):
    for beats in range(2, 2 + 2 * MOST_TRACKERS):
        suggester.grid(replace(document, metre=Metre(((1, SIX), (beats, TimeSignature(3, 8))), Fraction(1, 2))))
    assert suggester._tracker.cache_info().currsize == MOST_TRACKERS
