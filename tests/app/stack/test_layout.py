"""Rows, headings and lines from pixels, and back. The sizes are the project's own."""

import numpy as np
import pytest

from app.stack.layout import GRAB, GUTTER, HEADING, NARROW, SUMMARY, Layout, headings_of, pick
from core.bar_rows import bar_rows
from core.metre import Metre, TimeSignature
from tests.app.timeline.still_workspace import onsets_at, steady_grid
from tests.core.free_grids import FOUR, grid_of

PLAIN = Layout.of(("", "", "", ""), width=1000, row_height=20.0)


def test_headings_take_room_above_their_rows():
    layout = Layout.of(("4/4", "", "Chorus", ""), width=1000, row_height=20.0)
    assert layout.tops.tolist() == [HEADING, HEADING + 20, 2 * HEADING + 40, 2 * HEADING + 60, 2 * HEADING + 80]
    assert layout.content == 2 * HEADING + 80
    assert [layout.row_at(y) for y in (0, HEADING + 19, HEADING + 41, layout.content - 1)] == [0, 0, 2, 3]
    assert layout.row_at(-1) is None
    assert layout.row_at(layout.content) is None


@pytest.mark.parametrize("phase", [-0.1, 0.0, 0.3, 1.0, 1.1])
def test_phases_and_pixels_go_over_into_each_other(phase):
    assert PLAIN.phase_at(float(PLAIN.x_of(np.array(phase)))) == pytest.approx(phase)


def test_bars_fill_what_is_left_between_numbers_and_figures():
    assert (PLAIN.left, PLAIN.right) == (GUTTER, 1000 - SUMMARY)
    assert float(PLAIN.x_of(np.array(0.0))) > PLAIN.left
    assert float(PLAIN.x_of(np.array(1.0))) < PLAIN.right
    assert Layout.of(("",), width=NARROW - 1, row_height=20.0).summary < SUMMARY


@pytest.mark.parametrize(
    ("scroll", "height", "seen"),
    [(0, 80, (0, 4)), (20, 20, (1, 3)), (19.5, 20, (0, 3)), (500, 80, (4, 4))],
)
def test_only_rows_on_screen_are_asked_for(scroll, height, seen):
    first, last = PLAIN.visible(scroll, height)
    assert first == seen[0]
    assert seen[1] <= last <= seen[1] + 1  # the heading of the next one may show


def test_no_row_is_seen_of_no_bars():
    nothing = Layout.of((), width=1000, row_height=20.0)
    assert nothing.visible(0, 100) == (0, 0)
    assert nothing.content == 0


def test_headings_name_sections_and_changes_of_metre():
    metre = Metre(((1, FOUR), (2, TimeSignature(7, 8, (2, 2, 3)))))
    grid = grid_of(metre, [0.5] * 7)
    rows = bar_rows(grid, onsets_at([], 10.0))
    assert headings_of(grid, rows, {1: "Verse", 3: "End"}) == ("Verse   4/4", "2+2+3/8", "End")


class TestPicking:
    grid = steady_grid(4)
    rows = bar_rows(grid, onsets_at([], 10.0))

    def pick(self, phase, y, layout=PLAIN, by=0.0):
        return pick(float(layout.x_of(np.array(phase))) + by, y, rows=self.rows, grid=self.grid, layout=layout)

    def test_a_row_s_own_lines_and_the_one_that_closes_it(self):
        assert self.pick(0.0, 25, by=GRAB - 1).place == (2, 1)
        assert self.pick(0.25, 25, by=-2).place == (2, 2)
        assert self.pick(1.0, 25).place == (3, 1)
        assert self.pick(1.0, 25).time == 5.0

    def test_between_lines_there_is_but_a_moment(self):
        target = self.pick(0.375, 25)
        assert (target.row, target.place, target.time) == (1, None, pytest.approx(3.75))

    def test_the_last_line_opens_a_row_without_an_end(self):
        assert self.pick(0.0, 65).place == (4, 1)
        assert self.pick(1.0, 65).place is None

    def test_a_heading_belongs_to_its_row_and_has_no_lines(self):
        layout = Layout.of(("", "Chorus", "", ""), width=1000, row_height=20.0)
        target = self.pick(0.0, 25, layout)
        assert (target.row, target.place) == (1, None)

    def test_nothing_lies_beyond_the_rows(self):
        assert self.pick(0.0, 81) is None

    def test_lines_that_stand_close_leave_room_between_them(self):
        slim = Layout.of(("",) * 4, width=GUTTER, row_height=20.0)
        assert 0.1 * slim.bar_width < GRAB
        assert self.pick(0.1, 25, slim).place is None
