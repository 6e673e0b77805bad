"""The fitting of what weighs places: free takes stay in order, and what is right is learnt (data made here)."""

from __future__ import annotations

import numpy as np

from tests.bench.fit_chooser import Choice, Examples, fit, freer, wrong
from tests.core.played import arched, onsets_at


def test_a_freer_take_keeps_its_order_and_its_bar_lines_on_their_onsets():
    onsets = onsets_at(arched(10, 16, 0.5))
    bars = onsets.time[::4]
    warped, moved = freer(onsets, bars, np.random.default_rng(0))
    assert np.all(np.diff(warped.time) > 0)
    assert np.allclose(warped.time[::4], moved)
    assert np.abs(np.log(np.diff(moved) / np.diff(bars))).max() > 0.05
    assert np.all(warped.length > 0)


def made_up(random: np.random.Generator) -> list[Choice]:
    """Choices in which the place with the larger first feature is right."""
    found: list[Choice] = []
    for _ in range(300):
        rows = random.standard_normal((6, 4)).astype(np.float32)
        found.append((rows, np.arange(6) == rows[:, 0].argmax()))
    return found


def test_what_decides_is_learnt():
    random = np.random.default_rng(1)
    chooser = fit(Examples.of([made_up(random), made_up(random)]))
    assert wrong(chooser, made_up(random)) < 0.1
