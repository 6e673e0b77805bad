"""A first proposal for takes of which nothing is known (clicks synthesised here)."""

from __future__ import annotations

import numpy as np
import pytest

from core.errors import TakeError
from core.propose import METRES, propose
from core.tables import Tables
from tests.core.played import arched, onsets_at


@pytest.fixture(scope="module")
def arch():
    """Phrases of 16 beats (Friberg, Bresin, Sundberg 2006), the first of four accented."""
    return onsets_at(arched(6, 16, 0.6) + 0.2, accents=slice(None, None, 4))


def test_the_beat_of_a_phrase_arch_is_proposed(arch):
    proposal = propose(arch)
    beats = proposal.grid.beat_times
    near = np.abs(arch.time[:, None] - beats).min(axis=0)
    assert np.mean(near < 0.001) > 0.9
    octaves = np.log2(np.median(np.diff(beats)) / 0.63)
    assert abs(octaves - round(octaves)) < 0.1
    assert proposal.metre.at(1) in METRES


def test_confidences_are_shares_and_the_beat_is_at_least_as_sure_as_its_metre(arch):
    proposal = propose(arch)
    assert 0 < proposal.metre_confidence <= 1
    assert 0 < proposal.tempo_confidence <= 1 + 1e-9


def test_tables_already_made_give_the_same_proposal(arch):
    tables = Tables(arch)
    assert propose(arch, tables=tables) == propose(arch, tables=tables) == propose(arch)


def test_too_few_onsets_are_refused_in_a_sentence():
    with pytest.raises(TakeError, match="3 onsets, too few"):
        propose(onsets_at(np.array([0.0, 0.5, 1.0])))
