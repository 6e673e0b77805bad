"""What the networks make of a take (clicks synthesised here)."""

from __future__ import annotations

import numpy as np
import pytest

from core.evidence import ASPECTS, Evidence
from core.metre import TimeSignature
from core.weights import networks
from tests.core.played import arched, onsets_at

FOUR = TimeSignature(4, 4)


@pytest.fixture(scope="module")
def heard():
    """Phrase arches (Friberg, Bresin, Sundberg 2006), the first of four beats accented."""
    onsets = onsets_at(arched(6, 16, 0.5), accents=slice(None, None, 4))
    return Evidence(onsets, networks("midi")).supposing(FOUR, 0.52)


def test_accented_beats_are_likelier_bar_lines(heard):
    lines = heard.evidence[8:-8:4, 2]
    others = np.delete(heard.evidence[8:-8], np.s_[::4], axis=0)[:, 2]
    assert lines.mean() > others.mean() + 1.0


def test_onsets_that_play_the_same_part_lie_near_each_other(heard):
    inside = heard.inside[8:-8]
    lines, others = inside[::4], inside[1::4]
    apart = np.linalg.norm(lines.mean(axis=0) - others.mean(axis=0))
    assert apart > np.linalg.norm(lines - lines.mean(axis=0), axis=1).mean() / 2


def test_no_direction_is_spread_further_than_one(heard):
    assert heard.inside.shape[1] == ASPECTS
    assert heard.inside.std(axis=0).max() <= 1.0 + 1e-9


def test_a_single_onset_can_be_judged():
    alone = Evidence(onsets_at(np.array([0.0])), networks("midi")).blind()
    assert alone.evidence.shape == (1, 3)
    assert np.isfinite(alone.inside).all()
