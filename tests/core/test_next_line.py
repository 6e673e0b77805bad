"""Places of the next bar line and what speaks for each (pulses synthesised from the phrase arch's formula)."""

from __future__ import annotations

import numpy as np
import pytest

from core.line_places import APART
from core.metre import TimeSignature
from core.next_line import FEATURES, LINES, LONGEST, MOST, SHORTEST, Past, features, places
from core.onsets import Onsets
from core.tables import Tables
from tests.core.played import arched, onsets_at

FOUR = TimeSignature(4, 4)


@pytest.fixture(scope="module")
def take() -> Onsets:
    """Beats of about half a second in phrase arches (Friberg, Bresin, Sundberg 2006), every fourth accented."""
    return onsets_at(arched(4, 16, 0.5), accents=slice(None, None, 4))


def past_of(take: Onsets, bars: int) -> Past:
    lines = take.time[: 4 * bars + 1 : 4]
    lengths = np.log(np.diff(lines) / 4)
    return Past(tuple(lines[-LINES:].tolist()), tuple(lengths[-9:].tolist()), -4, FOUR, FOUR, FOUR)


def test_every_onset_of_a_likely_length_is_a_place_and_no_other(take):
    past = past_of(take, 6)
    here = places(take, past, float(take.time[28]))
    due = float(np.mean(np.diff(past.lines)))
    length = here.time - past.lines[-1]
    assert set(take.time[26:31]) <= set(here.time)
    assert length.min() > 0.8 * SHORTEST * due
    assert length.max() < 1.2 * LONGEST * due
    assert len(here.time) <= MOST + 2


def test_the_moment_searched_is_a_place_even_where_nothing_sounds(take):
    past = past_of(take, 6)
    here = places(take, past, float(take.time[28]) + 3 * APART)
    (silent,) = here.time[here.silent & (np.abs(here.time - take.time[28] - 3 * APART) < 1e-9)]
    assert np.abs(take.time - silent).min() > APART


def test_in_silence_only_the_moments_due_are_places(take):
    lines = (float(take.time[-1]) - 2.0, float(take.time[-1]))
    past = Past(lines, (float(np.log(0.5)),), -5, FOUR, FOUR, FOUR)
    here = places(take, past, lines[-1] + 2.1)
    assert here.silent.all()
    assert np.allclose(sorted(here.time - lines[-1]), [2.0, 2.1])


def test_places_are_described_by_finite_numbers_the_same_every_time(take):
    past, tables = past_of(take, 6), Tables(take)
    here = places(take, past, float(take.time[28]))
    rows = features(tables.reading(past), past, here, float(take.time[28]))
    assert rows.shape == (len(here.time), FEATURES)
    assert np.isfinite(rows).all()
    assert np.array_equal(rows, features(Tables(take).reading(past), past, here, float(take.time[28])))


def test_a_bar_like_those_before_is_found_alike(take):
    """Bars of four onsets each: only the fourth onset on ends another such bar."""
    past, tables = past_of(take, 6), Tables(take)
    here = places(take, past, float(take.time[28]))
    rows = features(tables.reading(past), past, here, float(take.time[28]))
    as_many = rows[:, 18] == 1.0
    assert here.time[as_many & ~here.silent].tolist() == [take.time[28]]
