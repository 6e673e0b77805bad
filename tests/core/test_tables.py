"""What is kept of a take."""

from __future__ import annotations

import numpy as np
import pytest

from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.tables import Tables
from core.tracker import Tracker
from tests.core.played import arched, onsets_at

FOUR, THREE = TimeSignature(4, 4), TimeSignature(3, 4)


def test_a_tracker_in_another_metre_shares_the_tables_and_answers_the_same():
    onsets = onsets_at(arched(3, 16, 0.5), accents=slice(None, None, 4))
    first = Tracker(onsets, Metre.steady(FOUR))
    pins = [Pin(float(onsets.time[0]), 1), Pin(float(onsets.time[4]), 2)]
    first.grid(pins)
    metre = Metre(((1, FOUR), (5, THREE)))
    shared = Tracker(onsets, metre, tables=first.tables)
    assert shared.tables is first.tables
    assert shared.grid(pins) == Tracker(onsets, metre).grid(pins)


def test_a_table_is_made_once():
    tables = Tables(onsets_at(np.arange(0, 30) * 0.5))
    assert tables.table(FOUR, -4, 1) is tables.table(FOUR, -4, 1)
    assert tables.heard(FOUR, -4) is tables.heard(FOUR, -4)


def test_tables_of_other_onsets_are_refused():
    onsets = onsets_at(np.arange(0, 30) * 0.5)
    with pytest.raises(ValueError, match="other onsets"):
        Tracker(onsets, Metre.steady(FOUR), tables=Tables(onsets_at(np.arange(0, 30) * 0.5)))
