"""Taps are kept, told what they mean, placed in one step, and dropped."""

from dataclasses import replace

import pytest

from core.document import Document, TapPass
from core.edits import AcceptTaps, DropTaps, Insert, KeepTaps, MeanTaps, Place
from core.errors import InputError, PinError
from core.grid import Pin
from core.tap_edits import replaceable

TAPS = TapPass((10.0, 12.1, 13.9), 1, 5)
KEPT = KeepTaps(TAPS).apply(Document())
LINES = (Pin(10.02, 5), Pin(12.0, 6), Pin(14.0, 7))


def test_taps_are_kept_and_place_nothing_by_themselves():
    assert replace(Document(), taps=(TAPS,)) == KEPT
    assert KeepTaps(TAPS).words == "3 taps from 0:10.000, bar lines"


def test_what_they_mean_can_be_said_again():
    after = MeanTaps(2, 4).apply(KEPT)
    assert after.taps == (replace(TAPS, every=2, bar=4),)


def test_accepted_whole_they_are_dealt_with_in_one_step():
    after = AcceptTaps(LINES).apply(KEPT)
    assert after.pins == LINES
    assert after.taps == (replace(TAPS, placed=(10.02, 12.0, 14.0), open=False),)
    assert AcceptTaps(LINES).words == "Tapped bars 5 to 7 placed"


def test_accepted_in_part_the_rest_waits():
    after = AcceptTaps(LINES[:1], done=False).apply(KEPT)
    assert (after.pins, after.taps[0].open) == (LINES[:1], True)
    assert AcceptTaps(LINES[1:]).apply(after).pins == LINES


def test_what_was_placed_by_hand_stays_where_it_is():
    hand = Place(Pin(12.3, 6)).apply(KEPT)
    assert AcceptTaps(LINES).apply(hand).pins == (LINES[0], Pin(12.3, 6), LINES[2])


def test_what_was_tapped_before_gives_way_to_a_pass_over_it():
    once = AcceptTaps(LINES).apply(KEPT)
    again = KeepTaps(replace(TAPS, times=(12.15, 14.05), bar=6)).apply(once)
    after = AcceptTaps((Pin(12.06, 6),)).apply(again)
    assert after.pins == (LINES[0], Pin(12.06, 6), LINES[2])


def test_a_line_that_was_moved_by_hand_since_is_the_musicians():
    once = Place(Pin(12.2, 6)).apply(AcceptTaps(LINES).apply(KEPT))
    again = KeepTaps(replace(TAPS, times=(12.15, 14.05), bar=6)).apply(once)
    assert Pin(12.2, 6) in AcceptTaps((Pin(12.06, 6),)).apply(again).pins


def test_elsewhere_tapped_lines_are_as_firm_as_any():
    once = AcceptTaps(LINES).apply(KEPT)
    again = KeepTaps(replace(TAPS, times=(30.0, 32.0), bar=15)).apply(once)
    assert AcceptTaps((Pin(12.06, 6),)).apply(again).pins == LINES


def test_dropped_they_are_gone_and_what_was_placed_stays():
    assert DropTaps().apply(KEPT) == Document()
    part = AcceptTaps(LINES[:1], done=False).apply(KEPT)
    assert DropTaps().apply(part).pins == LINES[:1]


def test_taps_are_counted_with_the_bars():
    line = Insert(Pin(3.0, 2)).apply(KEPT)
    assert line.taps[0].bar == 6


@pytest.mark.parametrize("edit", [AcceptTaps(LINES), DropTaps(), MeanTaps(1, 1)])
def test_without_taps_there_is_nothing_to_do(edit):
    with pytest.raises(InputError, match="No taps are waiting"):
        edit.apply(Document())


@pytest.mark.parametrize(
    "taps",
    [
        TapPass(()),
        TapPass((2.0, 1.0)),
        TapPass((1.0, float("nan"))),
        TapPass((-1.0,)),
        TapPass((1.0,), 1, 1, 2),
        TapPass((1.0,), speed=0.0),
    ],
)
def test_taps_that_cannot_be_are_refused(taps):
    with pytest.raises(InputError):
        KeepTaps(taps).apply(Document())


def test_lines_that_contradict_what_is_placed_are_refused():
    hand = Place(Pin(11.0, 9)).apply(KEPT)
    with pytest.raises(PinError):
        AcceptTaps(LINES).apply(hand)


def test_very_many_passes_are_not_each_held_against_all():
    # Every second one is open and over the next but one; each held against all, this would take an hour.
    passes = tuple(TapPass((float(i), i + 1.5), placed=(i + 0.25,), open=i % 4 < 2) for i in range(80_000))
    over = replaceable(Document(taps=passes))
    assert {i for i in range(8) if i + 0.25 in over} == {0, 1, 2, 3, 4, 5, 6, 7}
    apart = replace(passes[0], times=(1e5, 1e5 + 1), placed=(1e5 + 0.5,), open=False)
    assert 1e5 + 0.5 not in replaceable(Document(taps=(*passes, apart)))
