"""Which lines a lane shows, and the tempo of a bar."""

import numpy as np
import pytest

from app.span import Span
from app.timeline.lines import CLOSEST_BARS, Lines, lines_of, shown, step_for
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from tests.app.timeline.still_workspace import steady_grid


def span_of(duration: float, width: int, start: float = 0.0, end: float | None = None) -> Span:
    span = Span()
    span.set_width(width)
    span.set_duration(duration)
    span.show(start, duration if end is None else end)
    return span


def test_lines_are_made_once_for_a_grid():
    grid, other = steady_grid(4), steady_grid(4)
    assert lines_of(grid) is lines_of(grid)
    assert lines_of(other) is not lines_of(grid)


def test_lines_hold_what_the_grid_holds():
    grid = steady_grid(5, placed={(2, 1), (3, 2)}, doubtful={(4, 1)})
    lines = Lines(grid)
    assert [lines.place(i) for i in range(len(lines))] == [(beat.bar, beat.beat) for beat in grid.beats]
    assert [lines.place(i) for i in np.flatnonzero(lines.placed)] == [(2, 1), (3, 2)]
    assert [lines.place(i) for i in np.flatnonzero(lines.doubtful)] == [(4, 1)]
    assert lines.line((3, 2)) is grid.beats[lines.index((3, 2))]
    assert lines.line((9, 1)) is None


def test_a_tempo_is_what_the_metronome_would_say():
    # By definition: a bar of 4/4 in 2 s is four quarters in 2 s, 120 a minute.
    assert Lines(steady_grid(4, bar=2.0)).tempo == pytest.approx([120.0] * 3)
    # Compound metres count dotted beats (common practice, no source): 6/8 in 2 s is two beats, 60 a minute.
    compound = Lines(steady_grid(4, bar=2.0, signature="6/8"))
    assert compound.tempo == pytest.approx([60.0] * 3)
    assert compound.tempo_unit == 1.5
    # 7/8 in 2 s is three and a half quarters: 105 a minute.
    assert Lines(steady_grid(4, bar=2.0, signature="2+2+3/8")).tempo == pytest.approx([105.0] * 3)


def test_where_simple_and_compound_metres_meet_quarters_are_counted():
    metre = Metre(((1, TimeSignature(2, 4)), (2, TimeSignature(6, 8))))
    times = [(0.0, 1, 1), (0.5, 1, 2), (1.0, 2, 1), (1.75, 2, 2), (2.5, 3, 1)]
    lines = Lines(Grid(metre, tuple(Beat(time, bar, beat) for time, bar, beat in times)))
    assert lines.tempo_unit == 1.0
    assert lines.tempo == pytest.approx([120.0, 120.0])


def test_a_line_is_dragged_between_bar_lines_and_placed_beats():
    lines = Lines(steady_grid(4, bar=2.0, start=1.0, placed={(1, 3)}))
    assert lines.neighbours((2, 1)) == (2.0, 5.0)
    assert lines.neighbours((2, 2)) == (3.0, 5.0)
    assert lines.neighbours((1, 1)) == (0.0, 2.0)
    assert lines.neighbours((4, 1)) == (5.0, np.inf)


def test_everything_on_screen_is_shown_when_there_is_room():
    lines = Lines(steady_grid(20, bar=2.0, start=0.0))
    there = shown(lines, span_of(40.0, 1600, 9.0, 15.0))
    assert [lines.place(i) for i in there.bars] == [(6, 1), (7, 1), (8, 1)]
    assert len(there.beats) == 10
    assert there.step == 1


@pytest.mark.parametrize(("bars", "step"), [(200, 1), (401, 1), (801, 2), (3201, 8)])
def test_bar_lines_are_left_out_where_they_would_be_closer_than_four_pixels(bars, step):
    lines = Lines(steady_grid(bars, bar=2.0, start=0.0))
    span = span_of(2.0 * (bars - 1), 1600)
    there = shown(lines, span)
    assert there.step == step
    assert np.diff(lines.time[there.bars]).min() / span.seconds_per_pixel >= CLOSEST_BARS
    assert set(lines.bar[there.bars] % step) <= {1 % step}
    assert not len(there.beats)


def test_what_is_left_out_does_not_change_while_scrolling():
    lines = Lines(steady_grid(4000, bar=2.0, start=0.0))
    span = span_of(8000.0, 1600, 0.0, 4000.0)
    first = {lines.place(i) for i in shown(lines, span).bars}
    span.scroll(333)
    second = {lines.place(i) for i in shown(lines, span).bars}
    both = {place for place in first | second if span.start <= lines.line(place).time <= 4000.0}
    assert both <= first & second


def test_beats_that_were_placed_show_longer_than_others():
    lines = Lines(steady_grid(100, bar=2.0, start=0.0, placed={(5, 3)}))
    there = shown(lines, span_of(198.0, 1600))
    assert [lines.place(i) for i in there.beats] == [(5, 3)]


def test_a_step_ends_when_no_bars_are_left():
    lines = Lines(steady_grid(3, bar=2.0))
    assert step_for(lines, span_of(7000.0, 10), 100.0) <= 4
    alone = Lines(steady_grid(1))
    assert step_for(alone, span_of(10.0, 100), 100.0) == 1
