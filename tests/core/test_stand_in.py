"""Without its recording a project shows every placed line where it was, and even bars between."""

from pathlib import Path

import numpy as np
import pytest

from core.document import Document, TapPass
from core.grid import Pin
from core.stand_in import stand_in
from core.suggest import Suggester


@pytest.mark.parametrize("count", [0, 1, 2, 7])
def test_every_placed_line_stays_and_bars_go_on(count):
    pins = tuple(Pin(1.5 + 2.125 * i, 1 + i) for i in range(count))
    take, onsets = stand_in(Path("gone.mid"), Document(pins=pins))
    grid = Suggester(onsets).grid(Document(pins=pins))
    assert [line.time for line in grid.bar_lines if line.placed] == [pin.time for pin in pins]
    assert len(grid.bar_lines) > 10
    assert len(take.notes) == 0
    assert take.path == Path("gone.mid")


def test_between_placed_lines_bars_are_even():
    document = Document(pins=(Pin(2.0, 1), Pin(4.0, 2), Pin(42.0, 21)))
    _, onsets = stand_in(Path("gone.mid"), document)
    times = [line.time for line in Suggester(onsets).grid(document).bar_lines[:21]]
    np.testing.assert_allclose(np.diff(times), 2.0, atol=0.02)


def test_what_undo_and_redo_lead_to_has_room():
    other = Document(pins=(Pin(300.0, 1),), taps=(TapPass((310.0, 320.0)),))
    take, onsets = stand_in(Path("gone.mid"), Document(), [other])
    assert take.duration == onsets.duration > 320
