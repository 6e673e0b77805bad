"""The curve of what would be handed over: there without asking, right after every edit, gone with the take."""

from types import SimpleNamespace

import pytest

from app.curve import Curve
from core.fit import fit_bars, fit_fewest
from tests.app.timeline.still_workspace import StillWorkspace, state_of, steady_grid


@pytest.fixture
def curve(qapp):
    workspace = StillWorkspace(state_of(steady_grid(11), duration=30.0))
    curve = Curve(workspace)
    curve.workspace, curve.seen = workspace, []
    curve.fitted.connect(curve.seen.append)
    return curve


def test_it_follows_bars_as_soon_as_they_are_settled(curve):
    moved = steady_grid(11, bar=2.1)
    curve.workspace.show(grid=moved, pending=True)
    assert curve.seen == []
    curve.workspace.show(pending=False)
    (fit,) = curve.seen
    assert fit.tempo_map.tempi == pytest.approx(240 / 2.1)
    assert abs(fit.bar_errors).max() < 1e-9
    curve.workspace.show(pending=False)
    assert len(curve.seen) == 1


def test_bars_known_already_are_followed_at_once(curve):
    curve.workspace.show(grid=steady_grid(11, bar=1.9))
    assert curve.seen[-1].tempo_map.tempi == pytest.approx(240 / 1.9)


def test_a_plan_of_these_bars_takes_its_place_and_one_of_others_does_not(curve):
    grid = curve.workspace.state.grid
    plan = SimpleNamespace(grid=grid, fit=fit_fewest(grid, 0.01))
    curve.take_plan(plan)
    assert curve.seen == [plan.fit]
    curve.take_plan(SimpleNamespace(grid=steady_grid(11), fit=fit_bars(grid)))
    assert curve.seen == [plan.fit]


def test_it_goes_where_there_is_nothing_to_fit(curve):
    curve.workspace.show(grid=steady_grid(1))
    assert curve.seen == [None]
    curve.workspace.show(take=None, grid=None)
    assert curve.seen == [None, None]
