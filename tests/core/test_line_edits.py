"""Edits of single lines."""

import pytest

from core.document import COMMON_TIME, Document, Section
from core.edits import Accept, Insert, LetGo, Nudge, Place, ShiftBeats, TakeOut
from core.errors import InputError, PinError
from core.grid import Pin
from core.metre import Metre, TimeSignature

FOUR, THREE = TimeSignature(4, 4), TimeSignature(3, 4)
DOCUMENT = Document(COMMON_TIME, (Pin(2.0, 1), Pin(4.0, 2), Pin(5.1, 2, 3), Pin(20.0, 10)))


def test_a_line_placed_again_moves_and_no_other():
    after = Place(Pin(4.3, 2)).apply(DOCUMENT)
    assert after.pins == (Pin(2.0, 1), Pin(4.3, 2), Pin(5.1, 2, 3), Pin(20.0, 10))


def test_a_line_that_passes_another_is_refused():
    with pytest.raises(PinError, match="comes after"):
        Place(Pin(5.2, 2)).apply(DOCUMENT)


def test_a_line_without_a_number_is_refused():
    with pytest.raises(InputError, match="needs the number"):
        Place(Pin(5.2)).apply(DOCUMENT)


def test_a_nudge_places_what_was_suggested():
    after = Nudge((Pin(4.0, 2), Pin(6.0, 3)), 0.005).apply(DOCUMENT)
    assert after.pins == (Pin(2.0, 1), Pin(4.005, 2), Pin(5.1, 2, 3), Pin(6.005, 3), Pin(20.0, 10))


def test_letting_go():
    assert LetGo(((2, 1), (2, 3))).apply(DOCUMENT).pins == (Pin(2.0, 1), Pin(20.0, 10))
    with pytest.raises(InputError, match="nothing is placed"):
        LetGo(((3, 1),)).apply(DOCUMENT)


def test_accepting_leaves_what_is_placed():
    after = Accept((Pin(4.4, 2), Pin(6.0, 3))).apply(DOCUMENT)
    assert after.pins == (Pin(2.0, 1), Pin(4.0, 2), Pin(5.1, 2, 3), Pin(6.0, 3), Pin(20.0, 10))


def test_inserting_counts_on_after_the_new_line():
    document = Document(
        Metre(((1, FOUR), (10, THREE))), DOCUMENT.pins, holds=(2,), sections=(Section(2, "A"), Section(3, "B"))
    )
    after = Insert(Pin(5.0, 3), (Pin(4.1, 2), Pin(6.0, 4))).apply(document)
    assert after.pins == (Pin(2.0, 1), Pin(4.0, 2), Pin(5.0, 3), Pin(6.0, 4), Pin(20.0, 11))
    assert after.metre == Metre(((1, FOUR), (11, THREE)))
    assert after.holds == (2, 3)
    assert after.sections == (Section(2, "A"), Section(4, "B"))


def test_taking_out_counts_back():
    after = TakeOut(5, (Pin(8.0, 4), Pin(12.0, 5))).apply(DOCUMENT)
    assert after.pins == (*DOCUMENT.pins[:3], Pin(8.0, 4), Pin(12.0, 5), Pin(20.0, 9))


def test_inserting_and_taking_out_again_gives_the_count_back():
    assert TakeOut(5).apply(Insert(Pin(9.0, 5)).apply(DOCUMENT)) == DOCUMENT


def test_shifting_replaces_the_lines_of_the_range_alone():
    after = ShiftBeats(2, 3, 1, (Pin(4.5, 2), Pin(6.5, 3), Pin(8.0, 4), Pin(19.0, 10))).apply(DOCUMENT)
    assert after.pins == (Pin(2.0, 1), Pin(4.5, 2), Pin(6.5, 3), Pin(8.0, 4), Pin(20.0, 10))
    assert ShiftBeats(2, None, 1, (Pin(4.5, 2),)).apply(DOCUMENT).pins == (Pin(2.0, 1), Pin(4.5, 2))


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (Place(Pin(33.214, 12)), "Bar 12 placed at 0:33.214"),
        (Place(Pin(33.214, 12, 3)), "Beat 3 of bar 12 placed at 0:33.214"),
        (Nudge((Pin(1.0, 12), Pin(2.0, 13), Pin(3.0, 14)), 0.005), "Bars 12 to 14 moved 5 ms later"),
        (Nudge((Pin(1.0, 12),), -0.001), "Bar 12 moved 1 ms earlier"),
        (Nudge((Pin(1.0, 12), Pin(2.0, 14)), -0.02), "2 bar lines moved 20 ms earlier"),
        (Nudge((Pin(1.0, 12), Pin(1.2, 12, 2)), -0.02), "2 lines and beats moved 20 ms earlier"),
        (LetGo(((40, 1),)), "Bar 40 let go"),
        (Accept((Pin(1.0, 59), Pin(2.0, 60))), "Bars accepted up to 60"),
        (Insert(Pin(33.214, 13)), "Line inserted at 0:33.214, bar 13"),
        (TakeOut(13), "Bar line 13 taken out"),
        (ShiftBeats(5, 9, 1, ()), "Bars 5 to 9 shifted 1 beat later"),
        (ShiftBeats(5, None, -2, ()), "Bars from 5 on shifted 2 beats earlier"),
    ],
)
def test_words(edit, words):
    assert edit.words == words


def test_letting_go_of_very_many_takes_no_longer_than_naming_them():
    # Each looked for among all, this would take hours.
    pins = tuple(Pin(float(bar), bar) for bar in range(1, 40_001))
    after = LetGo(tuple((pin.bar, 1) for pin in pins[1:])).apply(Document(COMMON_TIME, pins))
    assert after.pins == pins[:1]
