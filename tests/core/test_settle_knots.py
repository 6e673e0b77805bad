"""Settled knots against the least squares of general libraries."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize

from core.fewest_knots import Windows, fewest_knots
from core.settle_knots import settle_knots
from tests.core.test_fewest_knots import LEAST, hats


def take(slack, seed=1):
    rng = np.random.default_rng(seed)
    at = 4.0 * np.arange(14)
    target = np.cumsum(2 * np.exp(rng.normal(0, 0.02, 14)))
    return Windows(at, target, target - slack, target + slack, LEAST)


def test_with_room_it_is_the_least_squares():
    windows = take(5.0)
    knots = np.array([0, 4, 9, 13])
    settled = settle_knots(windows, knots, windows.target[knots] + 0.1)
    best, *_ = np.linalg.lstsq(hats(windows.at, knots), windows.target, rcond=None)
    assert settled == pytest.approx(best, abs=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_no_link_becomes_flatter_than_the_least_slope(seed):
    rng = np.random.default_rng(seed)
    at, target = np.arange(30.0), np.cumsum(rng.choice([0.2, 1.0, 3.0], 30))
    windows = Windows(at, target, target - 5, target + 5, 0.19)
    knots = np.r_[0, np.sort(rng.choice(np.arange(1, 29), 12, replace=False)), 29]
    settled = settle_knots(windows, knots, target[knots])
    assert (np.diff(settled) / np.diff(at[knots]) >= 0.19 - 1e-9).all()


@pytest.mark.parametrize("seed", range(5))
def test_in_tight_windows_it_stays_inside_and_comes_near_the_constrained_optimum(seed):
    windows = take(0.03, seed)
    knots, values = fewest_knots(windows)
    line = hats(windows.at, knots)

    def squares(v):
        return float(((line @ v - windows.target) ** 2).sum())

    settled = settle_knots(windows, knots, values)
    inside = LinearConstraint(line, windows.low, windows.high)
    best = minimize(squares, values, method="SLSQP", constraints=inside, options={"ftol": 1e-12})
    assert (line @ settled >= windows.low - 1e-9).all()
    assert (line @ settled <= windows.high + 1e-9).all()
    assert squares(settled) <= squares(values)
    assert squares(settled) <= 1.1 * best.fun
