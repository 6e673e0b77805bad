"""Edits of free passages and holds."""

import pytest

from core.document import COMMON_TIME, Document, Section
from core.edits import MarkFree, MarkHold, UnmarkFree
from core.errors import InputError
from core.grid import Pin
from core.metre import Metre, TimeSignature

FOUR, THREE = TimeSignature(4, 4), TimeSignature(3, 4)
FREE = TimeSignature(11, 4, (1,) * 11)
DOCUMENT = Document(
    Metre(((1, FOUR), (7, THREE))),
    (Pin(2.0, 1), Pin(12.0, 6), Pin(13.0, 6, 3), Pin(20.0, 10)),
    holds=(6, 9),
    sections=(Section(1, "A"), Section(6, "B"), Section(8, "C")),
)
FREED = MarkFree(5, 7, FREE, 10.0, 15.5).apply(DOCUMENT)


def test_a_passage_becomes_one_bar_and_all_after_it_counts_on():
    assert FREED.free == (5,)
    assert FREED.pins == (Pin(2.0, 1), Pin(10.0, 5), Pin(15.5, 6), Pin(20.0, 8))
    assert FREED.metre == Metre(((1, FOUR), (5, FREE), (6, THREE)))
    assert FREED.holds == (7,)
    assert FREED.sections == (Section(1, "A"), Section(5, "B"), Section(6, "C"))


def test_its_end_as_it_was_placed_stays():
    assert Pin(20.0, 10) in MarkFree(9, 9, FREE, 18.0, 19.0).apply(DOCUMENT).pins


def test_a_free_bar_can_be_part_of_a_longer_one():
    longer = MarkFree(4, 6, FREE, 8.0, 17.0).apply(FREED)
    assert longer.free == (4,)
    assert longer.metre == Metre(((1, FOUR), (4, FREE), (5, THREE)))


def test_it_gets_its_bars_back():
    after = UnmarkFree(5, 3).apply(FREED)
    assert after.free == ()
    assert after.pins == (Pin(2.0, 1), Pin(10.0, 5), Pin(15.5, 8), Pin(20.0, 10))
    assert after.metre == Metre(((1, FOUR), (8, THREE)))
    assert after.sections[-1] == Section(8, "C")
    with pytest.raises(InputError, match="has its pulse"):
        UnmarkFree(4, 1).apply(FREED)


def test_the_first_bar_can_be_free_without_giving_its_metre_to_what_is_before():
    after = MarkFree(1, 2, FREE, 2.0, 6.0).apply(Document(COMMON_TIME, (Pin(2.0, 1),)))
    assert [after.metre.at(bar) for bar in (0, 1, 2)] == [FOUR, FREE, FOUR]


def test_holds():
    assert MarkHold(4, True).apply(DOCUMENT).holds == (4, 6, 9)
    assert MarkHold(6, False).apply(DOCUMENT).holds == (9,)
    with pytest.raises(InputError, match="no pulse"):
        MarkHold(5, True).apply(FREED)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (MarkFree(5, 9, FREE, 0.0, 1.0), "Bars 5 to 9 without pulse"),
        (MarkFree(5, 5, FREE, 0.0, 1.0), "Bar 5 without pulse"),
        (UnmarkFree(5, 3), "Bars 5 to 7 with a pulse again"),
        (MarkHold(4, True), "Bar 4 held"),
        (MarkHold(4, False), "Bar 4 no longer held"),
    ],
)
def test_words(edit, words):
    assert edit.words == words
