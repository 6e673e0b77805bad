"""From the open taps of a document to lines."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from core.document import Document, TapPass
from core.edits import AcceptTaps, KeepTaps, Place
from core.errors import InputError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.read_take import read_take
from core.tap_reading import read_document
from tests.core.test_taps import BARS, METRE, tapped

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def onsets():
    return find_onsets(read_take(EXAMPLES / "night-ferry.mid"))


def kept(*times, document=None, **meaning):
    edit = KeepTaps(TapPass(tuple(np.asarray(times).tolist()), **meaning))
    return edit.apply(document or Document(METRE))


def test_open_taps_are_read_and_lines_that_stand_there_are_left_out(onsets):
    document = kept(*tapped(BARS))
    lines = read_document(document, onsets).lines
    assert [line.bar for line in lines] == list(range(1, len(BARS) + 1))
    part = AcceptTaps(tuple(line.pin for line in lines[:5]), done=False).apply(document)
    assert [line.bar for line in read_document(part, onsets).lines] == list(range(6, len(BARS) + 1))


def test_a_pass_over_what_was_tapped_before_is_read_with_it(onsets):
    first = kept(*tapped(BARS, seed=1))
    placed = AcceptTaps(tuple(line.pin for line in read_document(first, onsets).lines)).apply(first)
    other = tapped(BARS, seed=2)
    other[6] += 0.4
    read = read_document(kept(*other, document=placed), onsets)
    assert len(read.habits) == 2
    assert [line.bar for line in read.lines if line.doubtful] in ([7], [])
    # A line that was placed by hand is not gone over.
    by_hand = Place(Pin(float(BARS[6]) - 0.1, 7)).apply(placed)
    assert 7 not in [line.bar for line in read_document(kept(*other, document=by_hand), onsets).lines]


def test_beats_that_cannot_be_placed_are_left_out(onsets):
    beats = np.interp(np.arange(0, len(BARS) - 0.5, 0.5), np.arange(len(BARS)), BARS)
    document = kept(*tapped(beats), every=0)
    assert (4, 2) in {(line.bar, line.beat) for line in read_document(document, onsets).lines}
    held = replace(document, holds=(4,))
    assert (4, 2) not in {(line.bar, line.beat) for line in read_document(held, onsets).lines}


def test_without_open_taps_there_is_nothing_to_read(onsets):
    with pytest.raises(InputError, match="No taps"):
        read_document(Document(METRE), onsets)
