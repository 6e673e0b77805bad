"""Bar lines between those tapped, weighed (pulses synthesised here)."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.evidence import Evidence
from core.metre import Metre, TimeSignature
from core.tap_fill import Filling, fill
from core.tap_middle import FEATURES
from core.way import Mark
from core.weights import middle_chooser, networks
from tests.core.played import arched, onsets_at

FOUR = TimeSignature(4, 4)
METRE = Metre.steady(FOUR)
PULSE = onsets_at(arched(16, 4, 0.5))
BARS = PULSE.time[::4]
HEARD = {FOUR: Evidence(PULSE, networks("midi")).supposing(FOUR, 0.5)}


def given_lines(bars):
    return [Mark(METRE.quarter_of(bar), float(BARS[bar - 1])) for bar in bars]


def test_every_second_line_of_a_pulse_that_bends_is_found_on_its_onset():
    lines = fill(given_lines(range(1, 17, 2)), METRE, PULSE, HEARD, HEARD, middle_chooser("midi"))
    assert [line.bar for line in lines] == list(range(2, 15, 2))
    assert [line.time for line in lines] == pytest.approx([float(BARS[line.bar - 1]) for line in lines])
    assert all(0.0 < line.confidence <= 1.0 for line in lines)


@settings(max_examples=15, deadline=None)
@given(bars=st.sets(st.integers(1, 16), min_size=2), seed=st.integers(0, 99))
def test_lines_are_complete_and_in_order_whatever_the_evidence_says(bars, seed):
    said = np.random.default_rng(seed).normal(0.0, 4.0, HEARD[FOUR].evidence.shape)
    heard = {FOUR: replace(HEARD[FOUR], evidence=said)}
    known = sorted(bars)
    lines = fill(given_lines(known), METRE, PULSE, heard, heard, middle_chooser("midi"))
    assert sorted([*known, *(line.bar for line in lines)]) == list(range(known[0], known[-1] + 1))
    together = dict([*zip(known, BARS[np.array(known) - 1], strict=True), *((one.bar, one.time) for one in lines)])
    assert np.all(np.diff([together[bar] for bar in sorted(together)]) > 0)


def test_places_are_described_by_finite_numbers():
    filling = Filling(given_lines([1, 2, 5, 7]), METRE, PULSE, HEARD, HEARD)
    assert [line.bar for line in filling.order] == [3, 4, 6]
    for line in filling.order:
        here, described = filling.described(line)
        assert described.shape == (len(here.time), FEATURES)
        assert np.isfinite(described).all()


def test_in_silence_and_over_a_long_gap_the_search_alone_says_where_lines_are():
    arrays = {one.name: getattr(PULSE, one.name)[:0] for one in fields(PULSE)[2:]}
    nothing = replace(PULSE, **arrays)
    none = {FOUR: Evidence(nothing, networks("midi")).supposing(FOUR, 0.5)}
    (line,) = fill(
        [Mark(METRE.quarter_of(1), 0.0), Mark(METRE.quarter_of(3), 4.0)],
        METRE,
        nothing,
        none,
        none,
        middle_chooser("midi"),
    )
    assert (line.bar, line.time) == (2, pytest.approx(2.0))
    assert not Filling(given_lines([1, 16]), METRE, PULSE, HEARD, HEARD).order
