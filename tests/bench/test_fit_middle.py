"""The fitting of what weighs places between taps: each line that is not given is asked once (data made here)."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from core.metre import Metre, TimeSignature
from core.tap_middle import FEATURES
from tests.bench.corpus import Performance
from tests.bench.fit_middle import choices
from tests.core.played import arched, onsets_at


def test_the_lines_not_given_are_the_choices_and_one_place_of_each_is_right():
    onsets = onsets_at(arched(12, 4, 0.5))
    take = Performance(
        name="made up",
        folder=Path(),
        bars=onsets.time[::4],
        beats=onsets.time,
        metre=Metre.steady(TimeSignature(4, 4)),
        unsettled=0.0,
        bar_to_bar_change=0.0,
    )
    found = choices(take, onsets, 0, np.random.default_rng(3))
    assert len(found) == 6
    for rows, right in found:
        assert rows.shape == (len(right), FEATURES)
        assert right.any()
