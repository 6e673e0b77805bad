"""Whatever is done to a document, it stays valid and no placed line moves; what cannot be is refused."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings

from core import gestures
from core.document import COMMON_TIME, Document
from core.edits import (
    CountFrom,
    DoubleBars,
    Edit,
    HalveBars,
    MarkFree,
    MarkPickup,
    Nudge,
    Place,
    Renumber,
    ShiftBeats,
    UnmarkFree,
)
from core.errors import BarwrightError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.numbering import valid
from core.read_take import read_take
from core.suggest import Suggester
from tests.bench.walk import walk
from tests.core.edit_strategies import SIGNATURES, check_sentence, documents, edits
from tests.core.random_gestures import random_gesture

EXAMPLES = Path(__file__).parents[2] / "examples"
FOUR = TimeSignature(4, 4)


def times(document: Document) -> set[float]:
    return {pin.time for pin in document.pins}


def may_move(edit: Edit) -> set[tuple[int | None, int]]:
    """Bar and beat of the placed lines that an edit is about and may give another time."""
    match edit:
        case Place(pin):
            return {(pin.bar, pin.beat)}
        case Nudge(pins, _):
            return {(pin.bar, pin.beat) for pin in pins}
    return set()


@settings(max_examples=300, deadline=None)
@given(documents(), edits)
def test_a_document_stays_valid_and_no_placed_line_moves(document, edit):
    before = replace(document)
    try:
        after = edit.apply(document)
    except BarwrightError as error:
        check_sentence(error)
        return
    finally:
        assert document == before
    assert valid(after) == after
    assert list(after.pins) == sorted(after.pins, key=lambda pin: pin.time)
    # A pin that is gone was let go or is about what moved; every other one still has its very time.
    moved = may_move(edit)
    if not isinstance(edit, ShiftBeats):
        asked = set()
        for field in ("pin", "pins", "keep"):
            value = getattr(edit, field, ())
            asked |= {pin.time for pin in (value if isinstance(value, tuple) else (value,))}
        asked |= {getattr(edit, "begin", -1.0), getattr(edit, "end", -1.0)}
        asked |= {pin.time + edit.seconds for pin in edit.pins} if isinstance(edit, Nudge) else set()
        assert times(after) <= times(document) | asked
    keeps_all = isinstance(edit, Place | Nudge | MarkPickup | CountFrom | Renumber | UnmarkFree)
    if keeps_all:
        kept = {pin.time for pin in document.pins if (pin.bar, pin.beat) not in moved}
        assert kept <= times(after)


@settings(max_examples=200, deadline=None)
@given(documents(), edits)
def test_words_are_short_and_plain(document, edit):
    assert 3 < len(edit.words) < 80
    assert not edit.words.endswith(".")
    assert edit.words[0].isupper() or edit.words[0].isdigit()


@settings(max_examples=150, deadline=None)
@given(documents(with_free=False))
def test_halving_and_then_doubling_gives_the_old_document_back(document):
    # What cannot come back: beats that have no place in the half bar, and which half a hold was meant for.
    even = replace(document, pins=tuple(pin for pin in document.pins if pin.beat == 1))
    halved = HalveBars(5, 12).apply(even)
    assert DoubleBars(5, 20).apply(halved) == even
    to_the_end = HalveBars(5, None).apply(even)
    assert DoubleBars(5, None).apply(to_the_end) == even


@settings(max_examples=150, deadline=None)
@given(documents(with_free=False))
def test_a_passage_without_pulse_gives_its_bars_back(document):
    # The metre of a free bar is that of the music before it: a change inside, or where it begins, is not kept.
    outside = [bar for bar, _ in document.metre.changes if 9 <= bar <= 13]
    inside = [n for n in (*document.holds, *(section.bar for section in document.sections)) if 9 <= n <= 12]
    inside += [taps.bar for taps in document.taps if 9 <= taps.bar <= 12]
    pins = [pin for pin in document.pins if not 9 <= (pin.bar or 0) <= 13]
    ends = (Pin(18.5, 9), Pin(26.5, 13))
    document = replace(document, pins=tuple(sorted([*pins, *ends], key=lambda pin: pin.time)))
    if outside or inside:
        return
    free = MarkFree(9, 12, TimeSignature(16, 4), 18.5, 26.5).apply(document)
    assert free.free == (9,)
    assert str(free.metre.at(9)) == "16/4"
    assert free.metre.at(10) == document.metre.at(13)
    assert UnmarkFree(9, 4).apply(free) == document


@settings(max_examples=100, deadline=None)
@given(documents())
def test_counting_up_and_down_again_changes_nothing(document):
    assert CountFrom(-7).apply(CountFrom(7).apply(document)) == document


def test_a_thousand_edits_of_a_real_take_in_a_row():
    """Random gestures of every kind on an example; each is an edit or a sentence, and the bars follow."""
    onsets = find_onsets(read_take(EXAMPLES / "night-ferry.mid"))
    suggester, dice = Suggester(onsets), random.Random(20)
    document = Document(Metre.steady(TimeSignature(6, 8), Fraction(1, 2)))
    grid, done, refused, wrong = suggester.grid(document), 0, 0, 0
    kinds: set[str] = set()
    while done < 1000 and refused < 10_000:
        try:
            edit = random_gesture(dice, document, grid, onsets.duration)
            after = edit.apply(document)
        except BarwrightError as error:
            check_sentence(error)
            refused += 1
            continue
        done += 1
        kinds.add(type(edit).__name__)
        document, shown = after, gestures.preview(grid, edit)
        grid = shown or grid
        if done % 20 == 0:
            try:
                grid = suggester.grid(document)
            except BarwrightError:
                wrong += 1
        if done % 100 == 0:
            # A fresh start, or the take would be full of placed lines after a while.
            document = Document(Metre.steady(dice.choice(SIGNATURES[:4])))
            grid = suggester.grid(document)
    assert len(kinds) == 19
    assert wrong <= 5


def test_an_edit_that_is_refused_leaves_everything_as_it_was():
    document = Document(COMMON_TIME, (Pin(1.0, 1), Pin(3.0, 2)))
    with pytest.raises(BarwrightError, match="comes after"):
        Place(Pin(4.0, 1)).apply(document)
    assert document == Document(COMMON_TIME, (Pin(1.0, 1), Pin(3.0, 2)))


def test_a_long_history_leads_to_both_its_ends():
    # Ten thousand edits are walked by the bench.
    walked = walk(150, seed=3)
    assert walked["different"] == 0
    assert walked["states"] > walked["in history"] == 150
    assert walked["kinds"] > 9
