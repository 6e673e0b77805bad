"""Everything that names bars follows when they are counted anew."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.document import Document, Section
from core.edits import HalveBars
from core.errors import InputError, MetreError, PinError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.numbering import Course, course_of, renumbered, valid, with_pins
from tests.core.edit_strategies import documents, signatures

FOUR, THREE, TWO = TimeSignature(4, 4), TimeSignature(3, 4), TimeSignature(2, 4)
FREE = TimeSignature(19, 4, (1,) * 19)


@given(documents())
def test_taking_a_metre_apart_and_putting_it_together_changes_nothing(document):
    course = course_of(document)
    assert course.metre == document.metre
    pulse = course.pulse
    for bar in range(-5, 45):
        if bar in document.free:
            assert pulse.at(bar) == pulse.at(bar - 1) or bar in {start for start, _ in pulse.changes}
        else:
            assert pulse.at(bar) == document.metre.at(bar)


@given(signatures, st.dictionaries(st.integers(-5, 20), signatures, max_size=5))
def test_a_metre_is_written_in_one_way_only(opening, changes):
    metre = Course(opening, changes, {}, Fraction(0)).pulse
    in_force = opening
    for bar in range(-8, 25):
        in_force = changes.get(bar, in_force)
        assert metre.at(bar) == in_force
    assert all(a != b for (_, a), (_, b) in zip(metre.changes, metre.changes[1:], strict=False))


def test_two_free_bars_side_by_side_keep_the_metre_after_them():
    course = Course(FOUR, {7: THREE}, {5: FREE, 6: FREE}, Fraction(0))
    assert [str(course.metre.at(bar)) for bar in (4, 5, 6, 7)] == ["4/4", "19/4", "19/4", "3/4"]
    document = Document(course.metre, free=(5, 6))
    assert course_of(document).metre == course.metre


def test_all_that_names_bars_moves_together():
    document = Document(
        metre=Metre(((1, FOUR), (10, THREE))),
        pins=(Pin(1.0, 1), Pin(20.0, 10), Pin(21.0, 10, 3)),
        holds=(4, 11),
        sections=(Section(1, "A"), Section(10, "B")),
    )
    after = renumbered(document, lambda bar: (bar + (bar >= 6), True))
    assert after.metre == Metre(((1, FOUR), (11, THREE)))
    assert after.pins == (Pin(1.0, 1), Pin(20.0, 11), Pin(21.0, 11, 3))
    assert after.holds == (4, 12)
    assert after.sections == (Section(1, "A"), Section(11, "B"))


def test_when_a_line_goes_its_metre_holds_from_the_next_and_its_section_joins():
    document = Document(
        metre=Metre(((1, FOUR), (6, THREE))),
        pins=(Pin(5.0, 5), Pin(5.5, 5, 2), Pin(6.0, 6), Pin(7.0, 7)),
        holds=(6,),
        sections=(Section(5, "A"), Section(6, "B")),
    )
    after = renumbered(document, lambda bar: (bar - (bar >= 6), bar != 6))
    assert after.metre == Metre(((1, FOUR), (6, THREE)))
    assert after.pins == (Pin(5.0, 5), Pin(7.0, 6))
    assert after.holds == (5,)
    assert after.sections == (Section(5, "A / B"),)


def test_a_free_bar_is_not_divided():
    metre = Course(FOUR, {}, {5: FREE}, Fraction(0)).metre
    document = Document(metre, (Pin(5.0, 5), Pin(9.0, 6)), free=(5,))
    with pytest.raises(InputError, match="Bar 5 has no pulse"):
        renumbered(document, lambda bar: (bar + (bar >= 6), True))
    assert renumbered(document, lambda bar: (bar + 2, True)).free == (7,)


def test_what_is_placed_stays_when_more_is_set_at_its_place():
    document = with_pins(Document(pins=(Pin(1.0, 1),)), [Pin(9.0, 1), Pin(3.0, 2)])
    assert document.pins == (Pin(1.0, 1), Pin(3.0, 2))


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"pins": (Pin(3.0, 2), Pin(2.0, 3))}, PinError, "comes after"),
        ({"pins": (Pin(3.0, 2, 5),)}, PinError, "no beat 5"),
        ({"pins": (Pin(3.0, 10**6),)}, MetreError, "cannot be counted"),
        ({"holds": (3, 3)}, InputError, "Held bars"),
        ({"free": (3,), "pins": (Pin(3.0, 3),)}, InputError, "keeps both its ends"),
        ({"free": (3,), "pins": (Pin(3.0, 3), Pin(3.5, 3, 2), Pin(4.0, 4))}, InputError, "no beat can be placed"),
        ({"opening": float("nan")}, InputError, "no tempo"),
    ],
)
def test_what_no_document_can_be(change, error, words):
    with pytest.raises(error, match=words):
        valid(replace(Document(), **change))


def test_the_metre_after_a_free_bar_that_is_written_alike_is_not_lost():
    # One quarter up to bar 4, bar 5 free and written in two, two quarters from bar 6 on: one change for both.
    one, two = TimeSignature(1, 4), TimeSignature(2, 4)
    document = Document(Metre(((1, one), (5, two))), (Pin(5.0, 5), Pin(9.0, 6), Pin(9.5, 6, 2)), free=(5,))
    assert course_of(document).pulse.at(6) == two
    halved = HalveBars(6, None).apply(document)
    assert halved.metre.at(6) == two
    assert Pin(9.5, 7) in halved.pins
