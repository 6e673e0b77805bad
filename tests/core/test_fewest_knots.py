"""The minimum against every possible set of knots, each judged by a linear program."""

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog

from core import fewest_knots as module
from core.fewest_knots import HAIR, Windows, fewest_knots

LEAST = 0.06


def hats(at, knots):
    """Value of a broken line at each position as a matrix times its knots' values."""
    return np.array([np.interp(at, at[list(knots)], row) for row in np.eye(len(knots))]).T


def possible(at, low, high, least, knots):
    """Whether a broken line with these knots passes, by HiGHS and from the windows as they were given."""
    line = hats(at, knots)
    climb = np.diff(np.eye(len(knots)), axis=0) / np.diff(at[list(knots)])[:, None]
    answer = linprog(
        np.zeros(len(knots)),
        A_ub=np.vstack([line, -line, -climb]),
        b_ub=np.r_[high, -low, np.full(len(knots) - 1, -least)],
        bounds=(None, None),
        options={"primal_feasibility_tolerance": 1e-10},
    )
    return answer.status == 0


def random_windows(seed):
    """Seven to nine windows: metre changes, tempo that wanders, some windows exact, some wider than a bar.

    The least slope is far off or close to the fastest bar's, and the windows are alike or each of its own width.
    """
    rng = np.random.default_rng(seed)
    count = int(rng.integers(7, 10))
    bars = rng.choice([2.0, 3.0, 3.5, 4.0], count - 1)
    at = np.r_[0, np.cumsum(bars)]
    target = np.r_[0, np.cumsum(bars * 0.5 * np.exp(rng.normal(0, rng.choice([0.003, 0.02, 0.2]), count - 1)))]
    wide = rng.choice([0.01, 0.03, 0.1, 2.0]) * rng.choice([np.ones(count), rng.uniform(0.1, 1, count)])
    slack = np.where(rng.random(count) < rng.choice([0, 0.2, 0.5]), 2.5e-10, wide)
    least = rng.choice([0.1, 0.95]) * (np.diff(target) / np.diff(at)).min()
    return at, target, target - slack, target + slack, least


# The last one needs a knot whose possible values are two stretches with a gap between.
@pytest.mark.parametrize("seed", [*range(60), 2832])
def test_no_smaller_set_of_knots_will_do(seed):
    at, target, low, high, least = random_windows(seed)
    knots, values = fewest_knots(Windows(at, target, low, high, least))

    line = hats(at, knots) @ values
    assert (line >= low - 1.01 * HAIR).all()
    assert (line <= high + 1.01 * HAIR).all()
    assert (np.diff(values) / np.diff(at[knots]) > least - 1e-9).all()
    # Sets that are smaller still are part of these: a further knot never makes a line impossible.
    inner = len(knots) - 3
    if inner >= 0:
        smaller = [(0, *some, len(at) - 1) for some in combinations(range(1, len(at) - 1), inner)]
        assert not [some for some in smaller if possible(at, low, high, least, some)]


def test_the_linear_program_finds_the_same_minimum_from_the_other_side():
    """That the judge says yes at all: with the knots found, it does."""
    for seed in range(20):
        at, target, low, high, least = random_windows(seed)
        knots, _ = fewest_knots(Windows(at, target, low, high, least))
        assert possible(at, low - 1e-9, high + 1e-9, least - 1e-9, knots)


@pytest.mark.parametrize("seed", range(12))
def test_leaving_sources_out_at_first_changes_no_minimum(seed, monkeypatch):
    rng = np.random.default_rng(seed)
    at = 4.0 * np.arange(120)
    target = np.cumsum(2 + 0.05 * np.sin(np.arange(120) / rng.uniform(5, 40)) + rng.normal(0, 0.002, 120))
    windows = Windows(at, target, target - 0.02, target + 0.02, LEAST)
    monkeypatch.setattr(module, "_CROWD", 1000)
    whole, _ = fewest_knots(windows)
    monkeypatch.setattr(module, "_CROWD", 1)
    assert len(fewest_knots(windows)[0]) == len(whole)


def test_two_windows_make_one_link():
    knots, values = fewest_knots(Windows(*np.array([[0, 4], [0, 2], [-0.1, 1.9], [0.1, 2.1]]), LEAST))
    assert knots.tolist() == [0, 1]
    assert values == pytest.approx([0, 2])


def test_a_link_too_flat_to_play_is_not_taken():
    """Two steep runs that a flat link of slope 1/2 could join; were it steeper it would miss the fourth window."""
    at, target = np.arange(7.0), np.array([0, 3, 5.5, 6.8, 7.8, 10, 13])
    low, high = np.array([0, 3, 5, 6.1, 6.9, 10, 13]), np.array([0, 3, 6.1, 7.2, 8, 10, 13])
    low, high = low - 1e-9, high + 1e-9
    knots, values = fewest_knots(Windows(at, target, low, high, 0.1))
    assert knots.tolist() == [0, 2, 4, 6]
    assert values == pytest.approx([0, 6, 7, 13], abs=1e-7)
    assert len(fewest_knots(Windows(at, target, low, high, 0.8))[0]) == 5
    assert not [two for two in combinations(range(1, 6), 2) if possible(at, low, high, 0.8, (0, *two, 6))]


def test_best_straight_line_shares_the_error_evenly():
    """Chebyshev's equal ripple: through 0, 2, 3 the best line is off by 1/4 at each, in turn early and late."""
    at, target = np.array([0.0, 1, 2]), np.array([0.0, 2, 3])
    count = {}
    for slack in (0.2499, 0.2501):
        knots, _ = fewest_knots(Windows(at, target, target - slack, target + slack, LEAST))
        count[slack] = len(knots)
    assert count == {0.2499: 3, 0.2501: 2}
