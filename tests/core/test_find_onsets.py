"""Onsets follow the passages that are heard."""

import numpy as np

from core.find_onsets import in_take_time
from core.onsets import Onsets
from core.passages import Passage, Passages


def test_onsets_are_cut_and_reordered():
    time = np.array([1.0, 4.0, 7.0])
    row = np.array([1.0, 2.0, 3.0])
    names = ("strength", "count", "low", "high", "length", "pedal_lift", "pedal_down")
    rows = dict.fromkeys(names, row) | {"chroma": np.full((3, 12), 1 / 12)}
    onsets = Onsets(source="midi", duration=9.0, time=time, **rows)
    heard = in_take_time(onsets, Passages((Passage(6.0, 9.0), Passage(0.0, 3.0))))
    assert heard.time.tolist() == [1.0, 4.0]
    assert heard.strength.tolist() == [3.0, 1.0]
    assert heard.duration == 6.0
