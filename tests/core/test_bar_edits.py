"""Edits of the length, metre and count of bars."""

from fractions import Fraction

import pytest

from core.document import COMMON_TIME, Document, Section
from core.edits import ChangeMetre, CountFrom, DoubleBars, HalveBars, MarkPickup, Renumber
from core.errors import InputError, MetreError, PinError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.numbering import Course

FOUR, THREE, TWO = TimeSignature(4, 4), TimeSignature(3, 4), TimeSignature(2, 4)
FREE = TimeSignature(9, 4, (1,) * 9)


def test_beats_of_a_halved_bar_become_what_they_are():
    """In 4/4 at half the length, beat 2 is beat 3, and beat 3 the next bar line (arithmetic)."""
    document = Document(COMMON_TIME, (Pin(10.0, 5), Pin(10.5, 5, 2), Pin(11.0, 5, 3), Pin(30.0, 15)))
    after = HalveBars(5, 6).apply(document)
    assert after.pins == (Pin(10.0, 5), Pin(10.5, 5, 3), Pin(11.0, 6), Pin(30.0, 17))


def test_a_beat_with_no_place_in_the_half_bar_is_let_go():
    document = Document(Metre.steady(THREE), (Pin(10.0, 5), Pin(10.5, 5, 2), Pin(11.0, 5, 3)))
    assert HalveBars(5, None).apply(document).pins == (Pin(10.0, 5), Pin(10.5, 5, 3), Pin(11.0, 6, 2))
    seven = Document(Metre.steady(TimeSignature.parse("2+2+3/8")), (Pin(10.0, 5), Pin(11.0, 5, 3)))
    assert HalveBars(5, 5).apply(seven).pins == (Pin(10.0, 5),)


def test_a_change_of_metre_in_a_halved_range_follows():
    document = Document(
        Metre(((1, FOUR), (6, THREE), (8, FOUR))), holds=(6,), sections=(Section(6, "A"), Section(9, "B"))
    )
    after = HalveBars(5, 7).apply(document)
    assert after.metre == Metre(((1, FOUR), (7, THREE), (11, FOUR)))
    assert after.holds == (7, 8)
    assert after.sections == (Section(7, "A"), Section(12, "B"))


def test_the_middle_of_a_joined_bar_becomes_its_beat_or_is_let_go():
    document = Document(COMMON_TIME, (Pin(10.0, 5), Pin(12.0, 6), Pin(13.0, 6, 3), Pin(14.0, 7)))
    after = DoubleBars(5, 6).apply(document)
    assert after.pins == (Pin(10.0, 5), Pin(12.0, 5, 3), Pin(13.0, 5, 4), Pin(14.0, 6))
    three = Document(Metre.steady(THREE), (Pin(10.0, 5), Pin(12.0, 6), Pin(14.0, 7)))
    assert DoubleBars(5, None).apply(three).pins == (Pin(10.0, 5), Pin(14.0, 6))


def test_a_change_of_metre_in_the_middle_of_a_joined_bar_holds_from_the_next():
    document = Document(Metre(((1, FOUR), (6, THREE))), sections=(Section(5, "A"), Section(6, "B")))
    after = DoubleBars(5, 8).apply(document)
    assert after.metre == Metre(((1, FOUR), (6, THREE)))
    assert after.sections == (Section(5, "A / B"),)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (DoubleBars(5, 7), "joined in pairs"),
        (HalveBars(7, 5), "no range"),
        (HalveBars(4, None), "Bar 5 has no pulse"),
        (DoubleBars(4, 5), "Bar 5 has no pulse"),
    ],
)
def test_ranges_that_cannot_be(edit, words):
    metre = Course(FOUR, {}, {5: FREE}, Fraction(0)).metre
    document = Document(metre, (Pin(5.0, 5), Pin(9.0, 6)), free=(5,))
    with pytest.raises(InputError, match=words):
        edit.apply(document)


def test_a_metre_holds_to_the_next_change_and_past_a_free_bar():
    metre = Course(FOUR, {20: TWO}, {9: FREE}, Fraction(0)).metre
    document = Document(metre, (Pin(9.0, 9), Pin(12.0, 10), Pin(13.5, 10, 4)), free=(9,))
    after = ChangeMetre(5, THREE).apply(document)
    assert [str(after.metre.at(bar)) for bar in (4, 5, 8, 9, 10, 19, 20)] == [
        *("4/4", "3/4", "3/4"),
        *("9/4", "3/4", "3/4", "2/4"),
    ]
    assert after.pins == (Pin(9.0, 9), Pin(12.0, 10))
    with pytest.raises(MetreError, match="no pulse"):
        ChangeMetre(9, THREE).apply(document)


def test_a_change_to_what_holds_already_disappears():
    document = Document(Metre(((1, FOUR), (5, THREE), (9, FOUR))))
    assert ChangeMetre(5, FOUR).apply(document).metre == COMMON_TIME


def test_the_metre_of_bar_1_is_that_of_what_was_played_before():
    document = Document(Metre(((1, FOUR), (5, THREE)), Fraction(1)))
    assert ChangeMetre(1, TWO).apply(document).metre == Metre(((1, TWO), (5, THREE)), Fraction(1))
    assert ChangeMetre(-1, TWO).apply(Document()).metre == Metre.steady(TWO)


def test_the_pickup_and_what_contradicts_it():
    document = Document(COMMON_TIME, (Pin(1.0, 0, 4), Pin(2.0, 1)))
    assert MarkPickup(Fraction(2)).apply(document).metre.pickup == 2
    with pytest.raises(PinError, match="before the pickup"):
        MarkPickup(Fraction(1, 2)).apply(document)
    with pytest.raises(MetreError, match="shorter than a bar"):
        MarkPickup(Fraction(4)).apply(document)


def test_bars_that_were_missed_or_too_many():
    document = Document(
        Metre(((1, FOUR), (12, THREE))),
        (Pin(2.0, 1), Pin(24.0, 12), Pin(30.0, 15)),
        sections=(Section(11, "A"), Section(12, "B")),
    )
    more = Renumber(Pin(24.0, 14), 2).apply(document)
    assert more.pins == (Pin(2.0, 1), Pin(24.0, 14), Pin(30.0, 17))
    assert more.metre == Metre(((1, FOUR), (14, THREE)))
    fewer = Renumber(Pin(24.0, 10), -2).apply(document)
    assert fewer.pins == (Pin(2.0, 1), Pin(24.0, 10), Pin(30.0, 13))
    assert fewer.metre == Metre(((1, FOUR), (10, THREE)))
    assert fewer.sections == (Section(9, "A"), Section(10, "B"))
    with pytest.raises(PinError, match="comes after"):
        Renumber(Pin(24.0, 1), -11).apply(document)


def test_counting_from_another_bar_ends_the_pickup():
    document = Document(Metre(((1, FOUR), (5, THREE)), Fraction(1)), (Pin(10.0, 5),), holds=(5,))
    after = CountFrom(-4).apply(document)
    assert after.metre == Metre(((0, FOUR), (1, THREE)))
    assert (after.pins, after.holds) == ((Pin(10.0, 1),), (1,))
    with pytest.raises(MetreError, match="cannot be counted"):
        CountFrom(10**6).apply(document)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (HalveBars(5, 9), "Bars 5 to 9 half as long"),
        (DoubleBars(5, None), "Bars from 5 on twice as long"),
        (ChangeMetre(17, THREE), "3/4 from bar 17"),
        (ChangeMetre(17, TimeSignature.parse("2+2+3/8")), "2+2+3/8 from bar 17"),
        (MarkPickup(Fraction(1)), "Pickup of 1 quarter"),
        (MarkPickup(Fraction(3, 2)), "Pickup of 3/2 quarters"),
        (MarkPickup(Fraction(0)), "No pickup"),
        (Renumber(Pin(1.0, 18), 1), "Bar 17 counted as bar 18"),
        (CountFrom(-4), "All bar numbers 4 lower"),
    ],
)
def test_words(edit, words):
    assert edit.words == words
