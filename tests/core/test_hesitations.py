import csv
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from core.cutting import as_played, tighten
from core.document import Document
from core.edited_grid import edited_grid
from core.edited_midi import edited_midi
from core.find_onsets import find_onsets
from core.hesitations import find_hesitations
from core.metre import Metre, TimeSignature
from core.quiet_place import NoteLevel
from core.read_csv import read_bar_times, read_pins
from core.read_take import read_take
from core.tracker import Tracker

EXAMPLES = Path(__file__).parents[2] / "examples"
METRE = Metre(((1, TimeSignature(4, 4)), (72, TimeSignature(3, 4)), (144, TimeSignature(4, 4))), Fraction(1))


@pytest.fixture(scope="module")
def low_tide():
    take = read_take(EXAMPLES / "low-tide.mid")
    onsets = find_onsets(take)
    grid = Tracker(onsets, METRE).grid(read_pins(EXAMPLES / "low-tide.pins.csv"))
    return take, grid, find_hesitations(onsets, grid)


@pytest.fixture(scope="module")
def truth():
    with (EXAMPLES / "low-tide.pauses.csv").open() as file:
        return [{name: float(text) for name, text in row.items()} for row in csv.DictReader(file)]


def test_the_stops_of_the_example_are_found_and_no_others(low_tide, truth):
    """The truth is that of the code that played the example."""
    _, _, found = low_tide
    assert [(round(one.start, 1), round(one.end, 1)) for one in found] == [
        (round(row["start_s"], 1), round(row["end_s"], 1)) for row in truth
    ]


def test_what_each_would_save_is_near_what_the_player_added(low_tide, truth):
    _, _, found = low_tide
    ratios = [one.saves / row["saved_s"] for one, row in zip(found, truth, strict=True)]
    assert 0.95 < np.median(ratios) < 1.15
    assert max(ratios) < 1.5
    assert min(ratios) > 0.8
    assert sum(one.saves for one in found) == pytest.approx(sum(row["saved_s"] for row in truth), rel=0.12)


def test_bars_are_where_they_were_heard_when_all_pauses_are_shorter(low_tide):
    """Every true bar line, mapped through the cuts, has a bar line of the edited take within 10 ms."""
    take, grid, found = low_tide
    document = tighten(found, NoteLevel(take)).apply(Document())
    edited = edited_grid(grid, document.arrangement, take.duration).grid
    passages = document.arrangement.heard(take.duration)
    true = read_bar_times(EXAMPLES / "low-tide.bars.csv")
    wanted = passages.to_take([time for _, time in true])
    assert np.isfinite(wanted).all()
    lines = {line.bar: line.time for line in edited.bar_lines}
    assert max(abs(lines[bar] - at) for (bar, _), at in zip(true, wanted, strict=True)) <= 0.010
    assert passages.duration == pytest.approx(take.duration - sum(one.saves for one in found), abs=1e-6)


def test_no_note_is_lost_or_left_hanging_when_all_pauses_are_shorter(low_tide):
    take, _, found = low_tide
    document = tighten(found, NoteLevel(take)).apply(Document())
    heard, origin = edited_midi(take, document.arrangement.heard(take.duration))
    assert len(heard.notes) == len(take.notes)
    assert (np.diff(origin) > 0).all()
    down, lift = heard.pedal()
    assert len(down) == len(lift) == len(take.pedal()[0])
    held = take.notes.end - take.notes.start
    assert (heard.notes.end - heard.notes.start <= held + 1e-9).all()


def test_a_pause_gets_the_length_asked_for_and_its_own_back(low_tide):
    take, _, found = low_tide
    pause = found[4]
    edit = tighten([pause], NoteLevel(take), length=2.0)
    document = edit.apply(Document())
    passages = document.arrangement.heard(take.duration)
    left = float(passages.to_take(pause.end) - passages.to_take(pause.start))
    assert left == pytest.approx(2.0)
    other = tighten([pause], NoteLevel(take), length=1.0).apply(document)
    assert len(other.arrangement.taken) == 1
    assert as_played([pause]).apply(other) == Document()


def test_steady_playing_has_none():
    take = read_take(EXAMPLES / "night-ferry.mid")
    onsets = find_onsets(take)
    grid = Tracker(onsets, Metre.steady(TimeSignature(6, 8))).grid(read_pins(EXAMPLES / "night-ferry.pins.csv"))
    assert find_hesitations(onsets, grid) == ()
