import contextlib
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.arrangement import Arrangement
from core.document import Document, Section
from core.edited_grid import edited_document, edited_grid
from core.edits import BringBack, Tighten
from core.errors import BarwrightError, InputError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.passages import Passage
from tests.core.edit_strategies import LENGTH, arranging
from tests.core.free_grids import FOUR, grid_of, rubato

STEADY = Metre.steady(FOUR)


def even(bars, **more):
    """Four beats a bar, half a second each."""
    return grid_of(STEADY, [0.5] * (4 * bars), **more)


def order(*ends):
    return Arrangement(tuple(Passage(*pair) for pair in ends))


def bar_times(grid):
    return [(line.bar, round(line.time, 9)) for line in grid.bar_lines]


def test_what_is_plain_is_what_it_was():
    grid = even(4)
    edited = edited_grid(grid, Arrangement(), 8.0)
    assert edited.grid is grid


def test_bars_left_out_are_not_counted():
    # Bars 2 and 3 of six go; cut 0.1 s before the line at both places.
    edited = edited_grid(even(6), order((0, 1.9), (5.9, 12)), 12.0)
    assert bar_times(edited.grid) == [(1, 0.0), (2, 2.0), (3, 4.0), (4, 6.0), (5, 8.0)]
    assert edited.grid.metre == STEADY
    assert edited.origin[2, 1] == (4, 1)


def test_passages_heard_the_other_way_round_are_counted_as_they_are_heard():
    edited = edited_grid(even(6), order((5.9, 12), (0, 5.9)), 12.0)
    assert [edited.origin[line.bar, 1][0] for line in edited.grid.bar_lines] == [4, 5, 6, 1, 2, 3, 4]
    # Bar 6 is heard to the end of the recording, and bar 1 begins right there.
    assert bar_times(edited.grid)[:4] == [(1, 0.1), (2, 2.1), (3, 4.1), (4, 6.1)]


def test_a_bar_that_two_passages_make_has_the_beats_that_are_heard():
    # Beats 1 and 2 of bar 1, then bar 3 from its second beat on: five beats.
    edited = edited_grid(even(6), order((0, 0.9), (4.4, 12)), 12.0)
    assert edited.grid.metre.at(1) == TimeSignature(5, 4)
    assert edited.grid.metre.at(2) == FOUR
    # Beats 1 and 2, then 3 and 4: nothing to be seen in the metre.
    same = edited_grid(even(6), order((0, 0.9), (4.9, 12)), 12.0)
    assert same.grid.metre == STEADY


def test_the_last_bar_is_closed_by_its_own_line():
    edited = edited_grid(even(6), order((1.9, 5.9)), 12.0)
    assert bar_times(edited.grid) == [(1, 0.1), (2, 2.1), (3, 4.1)]


def test_a_shorter_pause_keeps_every_beat():
    # The second beat of bar 2 waits three seconds, in which two beats were counted.
    grid = grid_of(STEADY, [0.5] * 5 + [2.0, 2.0, 0.5] + [0.5] * 8)
    cut = Arrangement(taken=(Passage(3.0, 6.0),))
    edited = edited_grid(grid, cut, 11.5)
    assert edited.origin == {(b.bar, b.beat): (b.bar, b.beat) for b in grid.beats}
    assert edited.grid.metre == STEADY
    # Beat 3, which lay in what is taken out, is midway between 2 and 4.
    times = {(b.bar, b.beat): b.time for b in edited.grid.beats}
    assert times[2, 2] == pytest.approx(2.5)
    assert times[2, 3] == pytest.approx((2.5 + 3.5) / 2)
    assert times[2, 4] == pytest.approx(3.5)


def test_a_pickup_stays_one_and_no_other_beats_become_one():
    metre = Metre.steady(FOUR, Fraction(1))
    grid = grid_of(metre, [0.5] * 17, bar=0, beat=4)
    edited = edited_grid(grid, order((0, 4.4), (6.4, 8.5)), 8.5)
    assert edited.grid.metre == metre
    assert edited.grid.beats[0].bar == 0
    without = edited_grid(grid, order((1.0, 8.5)), 8.5)
    assert without.grid.metre.pickup == 0
    assert without.grid.beats[0].beat == 1


def test_too_little_is_refused():
    with pytest.raises(InputError, match="two bar lines"):
        edited_grid(even(6), order((2.1, 2.4)), 12.0)


def test_sections_and_lines_follow_their_music():
    grid = even(6, placed=frozenset((0, 8, 20)))
    document = Document(
        pins=(Pin(0.0, 1), Pin(4.0, 3), Pin(10.0, 6)), sections=(Section(1, "A"), Section(4, "B")), holds=(5,)
    )
    arrangement = order((5.9, 12), (0, 3.9))
    edited = edited_grid(grid, arrangement, 12.0)
    told = edited_document(document, edited, arrangement, 12.0)
    assert [(s.bar, s.name) for s in told.sections] == [(1, "B"), (4, "A")]
    # That of bar 6 is in bar 3 now, that of bar 1 in bar 4; that of bar 3 is not heard.
    assert [(pin.bar, round(pin.time, 9)) for pin in told.pins] == [(3, 4.1), (4, 6.1)]
    assert told.holds == (2,)


@st.composite
def arranged(draw):
    document = Document()
    for edit in draw(st.lists(arranging, min_size=1, max_size=6)):
        try:
            document = edit.apply(document)
        except BarwrightError:
            continue
    return document.arrangement


@settings(max_examples=200, deadline=None)
@given(arranged(), st.integers(0, 99), st.sets(st.integers(0, 200), max_size=20))
def test_every_line_keeps_its_music(arrangement, seed, placed):
    grid = grid_of(STEADY, rubato(200, length=0.5, seed=seed), start=0.3, placed=frozenset(placed))
    try:
        edited = edited_grid(grid, arrangement, LENGTH)
        passages = arrangement.heard(LENGTH)
    except InputError:
        return
    times = {(beat.bar, beat.beat): beat for beat in grid.beats}
    heard = edited.grid.beats
    for beat in heard:
        old = times[edited.origin[beat.bar, beat.beat]]
        if beat.time >= passages.duration:
            # It only closes the last bar.
            continue
        assert beat.placed == old.placed
        at = float(passages.to_take(old.time))
        if np.isfinite(at) and at < passages.duration:
            assert beat.time == pytest.approx(at, abs=1e-9)
    # Nothing that is heard between the first and the last line is forgotten.
    known = set(edited.origin.values())
    for place, old in times.items():
        at = float(passages.to_take(old.time))
        if np.isfinite(at) and edited.grid.bar_lines[0].time <= at <= edited.grid.bar_lines[-1].time:
            assert place in known
    # Where all bars are whole, the take has the metre of the recording.
    assert sum(s.quarters for s in [edited.grid.metre.at(b.bar) for b in edited.grid.bar_lines[:-1]]) == len(
        [beat for beat in heard if heard[-1] is not beat and beat.time >= edited.grid.bar_lines[0].time]
    )


@settings(max_examples=100, deadline=None)
@given(st.lists(arranging, min_size=1, max_size=8))
def test_what_is_arranged_leaves_all_else_as_it_was_said(edits):
    before = Document(pins=(Pin(1.0, 1), Pin(3.0, 2)), sections=(Section(1, "A"),))
    document = before
    for edit in edits:
        try:
            document = edit.apply(document)
        except BarwrightError:
            continue
    assert replace(document, arrangement=Arrangement()) == before


@settings(max_examples=100, deadline=None)
@given(arranged())
def test_all_brought_back_is_as_long_as_the_recording(arrangement):
    assume(arrangement.order)
    document = Document(arrangement=arrangement)
    whole = Passage(0.0, LENGTH)
    with contextlib.suppress(InputError):
        document = BringBack(whole, LENGTH).apply(document)
    document = Tighten((whole,), ()).apply(document)
    assert document.arrangement.heard(LENGTH).duration == pytest.approx(LENGTH)
