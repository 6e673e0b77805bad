"""The desk without a worker: what is kept, what is shown in the meantime, and undo over a long evening."""

from pathlib import Path

import numpy as np
import pytest

from app.desk import GRIDS, Desk
from core.document import Document
from core.edits import ChangeMetre, NameSection, Place
from core.errors import BarwrightError
from core.grid import Beat, Grid, Pin
from core.metre import TimeSignature
from core.take import AudioTake

TAKE = AudioTake(path=Path("take.wav"), duration=100.0, rate=44100, channels=2, frames=4_410_000)


def steady(document, tempo=0.5):
    """A grid of four bars whose first bar line is the first that is placed."""
    start = document.pins[0].time if document.pins else 1.0
    beats = tuple(Beat(start + tempo * i, 1 + i // 4, 1 + i % 4) for i in range(17))
    return Grid(document.metre, beats)


@pytest.fixture
def desk():
    desk = Desk(take=TAKE)
    desk.begin(Document(), steady(Document()), None)
    return desk


def place(time):
    return Place(Pin(time, 1))


def test_a_long_evening_can_be_undone_to_its_beginning(desk):
    documents = [desk.state.document]
    for time in np.linspace(1.1, 60, 3 * GRIDS):
        desk.do(place(float(time)))
        desk.suggested(desk.state.document, steady(desk.state.document))
        documents.append(desk.state.document)
    assert len(desk.state.history) == 3 * GRIDS
    for at in range(3 * GRIDS, -1, -1):
        desk.go_to(at)
        assert desk.state.document == documents[at]
        assert desk.state.pending == (at <= 2 * GRIDS)
    desk.suggested(documents[0], steady(documents[0]))
    assert not desk.state.pending


def test_bars_of_another_document_are_kept_and_not_shown(desk):
    first = desk.state
    desk.do(place(2.0))
    second = desk.state
    desk.go_to(0)
    assert (desk.state.grid, desk.state.pending) == (first.grid, False)
    desk.suggested(second.document, steady(second.document))
    assert desk.state.grid == first.grid
    desk.go_to(1)
    assert (desk.state.grid, desk.state.pending) == (steady(second.document), False)


def test_a_line_that_is_placed_is_seen_at_once(desk):
    desk.do(place(1.25))
    assert desk.state.pending
    assert desk.fits
    assert desk.state.grid.bar_lines[0] == Beat(1.25, 1, 1, placed=True)


def test_bars_that_are_counted_otherwise_stay_until_the_new_ones_come(desk):
    before = desk.state.grid
    desk.do(ChangeMetre(2, TimeSignature.parse("3/4")))
    assert desk.state.grid is before
    assert not desk.fits
    desk.settle()
    assert not desk.state.pending
    desk.expect()
    assert desk.state.pending


@pytest.mark.parametrize("time", [-1.0, 101.0, float("nan")])
def test_what_cannot_be_changes_nothing(desk, time):
    before = desk.state
    with pytest.raises(BarwrightError):
        desk.do(place(time))
    assert desk.state is before
    with pytest.raises(BarwrightError):
        Desk().do(place(1.0))


def test_the_same_again_is_no_entry(desk):
    desk.do(place(2.0))
    before = desk.state
    desk.do(place(2.0))
    assert desk.state is before


def test_names_leave_the_bars_as_they_are(desk):
    grid = desk.state.grid
    desk.do(NameSection(2, "Storm"))
    assert (desk.state.grid, desk.state.pending, desk.fits) == (grid, False, True)
    assert desk.state.history == ("Section Storm from bar 2",)
    desk.go_to(0)
    assert (desk.state.grid, desk.state.pending, desk.fits) == (grid, False, True)


def test_a_name_given_while_bars_are_on_their_way_waits_for_nothing_more(desk):
    desk.do(place(1.25))
    asked, shown = desk.state.document, desk.state.grid
    desk.do(NameSection(2, "Storm"))
    assert (desk.state.grid, desk.state.pending, desk.fits) == (shown, True, True)
    desk.suggested(asked, steady(asked))
    assert (desk.state.grid, desk.state.pending) == (steady(asked), False)
