"""The next bar: its end, its beats and the other places (pulses synthesised from the phrase arch's formula)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from core.metre import TimeSignature
from core.next_bar import next_bar, searched_bar
from core.next_line import LINES, Past
from core.onsets import Onsets
from core.ranking import APART
from core.tables import Tables
from core.weights import chooser
from tests.core.played import arched, onsets_at

FOUR = TimeSignature(4, 4)
QUARTERS = [Fraction(1), Fraction(2), Fraction(3)]


@pytest.fixture(scope="module")
def tables() -> Tables:
    """Beats of about half a second in phrase arches (Friberg, Bresin, Sundberg 2006), every fourth accented."""
    return Tables(onsets_at(arched(4, 16, 0.5), accents=slice(None, None, 4)))


def past_of(take: Onsets, bars: int) -> Past:
    lines = take.time[: 4 * bars + 1 : 4]
    lengths = np.log(np.diff(lines) / 4)
    return Past(tuple(lines[-LINES:].tolist()), tuple(lengths[-9:].tolist()), -4, FOUR, FOUR, FOUR)


@pytest.mark.parametrize("bars", [1, 4, 7, 12])
def test_the_next_bar_of_an_arch_ends_on_its_accent_with_a_beat_on_each_click(tables, bars):
    time = tables.onsets.time
    bar = next_bar(tables.reading(past_of(tables.onsets, bars)), chooser("midi"), past_of(tables.onsets, bars))
    assert bar is not None
    assert bar.end == time[4 * bars + 4]
    assert [position for position, _ in bar.inner] == QUARTERS
    assert [moment for _, moment in bar.inner] == time[4 * bars + 1 : 4 * bars + 4].tolist()


def test_what_is_said_of_it_is_a_share_and_ranked_places_apart(tables):
    past = past_of(tables.onsets, 5)
    bar = next_bar(tables.reading(past), chooser("midi"), past)
    assert bar is not None
    assert 0.5 < bar.judged.confidence <= 1
    lines = [bar.end, *bar.judged.alternatives]
    assert all(abs(a - b) > APART for i, a in enumerate(lines) for b in lines[:i])


def test_the_search_alone_finds_the_bar_too(tables):
    past = past_of(tables.onsets, 5)
    inner, end = searched_bar(tables.table(FOUR, -4, 1), past)
    assert end == tables.onsets.time[24]
    assert [position for position, _ in inner] == QUARTERS


def test_after_the_last_onset_there_is_no_next_bar(tables):
    time = tables.onsets.time
    past = Past((float(time[-5]), float(time[-1])), (float(np.log(0.55)),), -4, FOUR, FOUR, FOUR)
    assert next_bar(tables.reading(past), chooser("midi"), past) is None
