"""Rows in words: the bar, its metre, and how far its onsets are off."""

from app.stack.layout import MARGIN, Layout
from app.stack.scene import Stack
from app.stack.words import row_words
from app.timeline.lines import lines_of
from core.bar_rows import attack_shares, bar_rows, low_onsets
from core.metre import Metre
from tests.app.timeline.still_workspace import onsets_at, steady_grid
from tests.core.free_grids import FOUR, grid_of


def stack_of(grid, onsets):
    rows = bar_rows(grid, onsets, margin=MARGIN)
    layout = Layout.of(("",) * len(rows), width=1000, row_height=20.0)
    shares, low = attack_shares(onsets), low_onsets(onsets)
    return Stack(grid, rows, lines_of(grid), layout, onsets, shares, low, {})


def test_a_bar_with_late_onsets_and_a_silent_beat():
    stack = stack_of(steady_grid(3), onsets_at([1.02, 1.52, 2.02], 6.0))
    assert row_words(stack, 1) == (
        "Bar 1, suggested, 0:01.000, 120 a minute, 4/4, "
        "onsets 20 ms late, spread 0 ms, 1 of 4 beats without an onset"
    )


def test_early_and_exact():
    assert "onsets 30 ms early" in row_words(stack_of(steady_grid(2), onsets_at([0.97, 1.47], 6.0)), 1)
    assert "onsets on the beat" in row_words(stack_of(steady_grid(2), onsets_at([1.0, 1.5], 6.0)), 1)


def test_a_pickup_says_where_it_begins():
    stack = stack_of(grid_of(Metre.steady(FOUR), [0.5] * 6, bar=0, beat=3), onsets_at([], 6.0))
    assert row_words(stack, 0) == "Bar 0, begins on beat 3, 0:00.000, 4/4, 2 of 2 beats without an onset"


def test_the_last_bar_line_has_one_beat_that_is_known():
    assert row_words(stack_of(steady_grid(2), onsets_at([], 6.0)), 2).endswith("1 of 1 beats without an onset")


def test_no_such_bar_has_no_words():
    assert row_words(stack_of(steady_grid(2), onsets_at([], 6.0)), 9) == ""
