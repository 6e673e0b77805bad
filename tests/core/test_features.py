"""What the network reads: the same music elsewhere, higher or louder is nearly the same music."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from core.features import HEARD, SUPPOSED, heard, supposed
from core.metre import TimeSignature
from core.onsets import Onsets

THREE = TimeSignature(3, 4)


@pytest.fixture
def onsets() -> Onsets:
    rng = np.random.default_rng(5)
    n = 60
    chroma = rng.random((n, 12))
    return Onsets(
        source="midi",
        duration=40.0,
        time=np.cumsum(rng.uniform(0.1, 0.9, n)),
        strength=rng.normal(-20, 4, n),
        count=rng.integers(1, 5, n),
        low=rng.integers(36, 60, n),
        high=rng.integers(60, 84, n),
        length=rng.uniform(0.1, 1.0, n),
        chroma=chroma / chroma.sum(axis=1, keepdims=True),
        pedal_lift=rng.uniform(0, 2, n),
        pedal_down=np.full(n, np.inf),
    )


def test_every_onset_has_finite_features(onsets):
    assert heard(onsets).shape == (60, HEARD)
    extra = supposed(onsets, np.full(60, 1.5), THREE)
    assert extra.shape == (60, SUPPOSED)
    assert np.isfinite(heard(onsets)).all()
    assert np.isfinite(extra).all()


def test_a_later_start_and_another_level_change_nothing(onsets):
    moved = replace(onsets, time=onsets.time + 7.0, strength=onsets.strength + 6.0)
    assert np.allclose(heard(moved), heard(onsets))


def test_transposing_changes_absolute_pitch_alone(onsets):
    moved = replace(onsets, low=onsets.low + 3, high=onsets.high + 3, chroma=np.roll(onsets.chroma, 3, axis=1))
    changed = np.flatnonzero(~np.isclose(heard(moved), heard(onsets)).all(axis=0))
    assert len(changed) == 1


def test_an_exact_repeat_one_bar_away_is_seen():
    """The five features of each distance begin with how near an onset lies to the place looked at."""
    times = np.arange(30) * 0.5
    n = len(times)
    even = Onsets(
        source="midi",
        duration=16.0,
        time=times,
        strength=np.zeros(n),
        count=np.ones(n),
        low=np.full(n, 60),
        high=np.full(n, 60),
        length=np.full(n, 0.4),
        chroma=np.full((n, 12), 1 / 12),
        pedal_lift=np.full(n, np.inf),
        pedal_down=np.full(n, np.inf),
    )
    near = supposed(even, np.full(n, 1.5), THREE)[:, 6:36:5]
    assert np.allclose(near[10:20], 1.0)
    assert np.all(supposed(even, np.full(n, 1.5 * 1.11), THREE)[10:20, 16] < 0.5)


def test_no_onsets_no_features(onsets):
    none = {name: getattr(onsets, name)[:0] for name in Onsets.__slots__[2:]}
    empty = Onsets(source="midi", duration=1.0, **none)
    assert heard(empty).shape == (0, HEARD)
    assert supposed(empty, np.zeros(0), THREE).shape == (0, SUPPOSED)
