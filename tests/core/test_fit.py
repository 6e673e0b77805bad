"""Tempo maps fitted to grids: what is kept, what is left out, and published timing as the grid."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.fit import RESOLUTION, fit_bars, fit_beats, fit_fewest
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature

FOUR, SIX, SEVEN = (TimeSignature.parse(text) for text in ("4/4", "6/8", "2+2+3/8"))


def grid_of(beat_lengths, metre, *, start=0.0, before=0, placed=()):
    """A grid with a beat at each end of the lengths, the first `before` beats ahead of bar 1."""
    bar, beat = (0, metre.at(0).beats - before + 1) if before else (1, 1)
    beats = []
    for i, time in enumerate(start + np.r_[0, np.cumsum(beat_lengths)]):
        beats.append(Beat(float(time), bar, beat, placed=i in placed))
        bar, beat = (bar + 1, 1) if beat == metre.at(bar).beats else (bar, beat + 1)
    while beats[-1].beat != 1:
        beats.pop()
    return Grid(metre, tuple(beats))


def bars_of(lengths, *, placed=()):
    """A grid of 4/4 bars, each with even beats; `placed` counts bar lines from 0."""
    return grid_of(np.repeat(np.divide(lengths, 4), 4), Metre.steady(FOUR), placed={4 * i for i in placed})


@st.composite
def grids(draw):
    """Up to 20 bars at 30 to 300 beats a minute with a metre change, perhaps a pickup, some beats placed."""
    first, then = draw(st.permutations([FOUR, SIX, SEVEN]))[:2]
    before = draw(st.integers(0, first.beats - 1))
    pickup = first.quarters - first.beat_quarters[-before] if before else Fraction(0)
    metre = Metre(((1, first), (draw(st.integers(2, 6)), then)), pickup)
    lengths = draw(st.lists(st.floats(0.2, 2.0), min_size=9, max_size=60))
    placed = draw(st.sets(st.integers(0, len(lengths)), max_size=8))
    return grid_of(lengths, metre, start=draw(st.floats(0, 3600)), before=before, placed=placed)


def off(fit, beats, grid):
    """Map minus grid at beats, in seconds."""
    return fit.tempo_map.seconds_at([grid.quarter_of(beat) for beat in beats]) - [beat.time for beat in beats]


class TestBars:
    @given(grids())
    def test_every_bar_line_placed_beat_and_pickup_is_exact(self, grid):
        fit = fit_bars(grid)
        kept = [b for b in grid.beats if b.beat == 1 or b.placed or b is grid.beats[0]]
        assert fit.tempo_map.seconds.tolist() == [beat.time for beat in kept]
        assert not off(fit, kept, grid).any()
        assert fit.bar_errors.tolist() == [0] * len(grid.bar_lines)

    def test_quarter_nought_is_bar_one_also_after_a_pickup(self):
        grid = grid_of([0.5] * 9, Metre.steady(FOUR, Fraction(1)), start=2.0, before=1)
        tempo_map = fit_bars(grid).tempo_map
        assert tempo_map.quarters.tolist() == [-1, 0, 4, 8]
        assert float(tempo_map.seconds_at(0)) == 2.5

    def test_compound_beats_count_in_quarters(self):
        """6/8 at dotted quarter = 60 is 90 quarters a minute (a quarter lasts 666667 microseconds)."""
        tempo_map = fit_bars(grid_of([1.0] * 8, Metre.steady(SIX))).tempo_map
        assert tempo_map.quarters.tolist() == [0, 3, 6, 9, 12]
        assert tempo_map.tempi == pytest.approx([90] * 4)


class TestBeats:
    @given(grids())
    def test_all_beats_are_exact(self, grid):
        fit = fit_beats(grid, "all")
        assert fit.tempo_map.seconds.tolist() == grid.beat_times.tolist()
        assert not fit.bar_errors.any()

    def test_chosen_beats_join_the_bar_lines(self):
        grid = grid_of([0.5, 0.6, 0.7, 0.8] * 3, Metre.steady(FOUR), placed={6})
        fit = fit_beats(grid, [(1, 2), (3, 4), (2, 1)])
        assert fit.tempo_map.quarters.tolist() == [0, 1, 4, 6, 8, 11, 12]

    def test_a_beat_that_is_not_there_is_named(self):
        with pytest.raises(InputError, match="Bar 9 beat 2 is not in the grid"):
            fit_beats(bars_of([2, 2]), [(1, 2), (9, 2)])


class TestFewest:
    @settings(max_examples=150)
    @given(grids(), st.sampled_from([0, 0.001, 0.01, 0.05, 0.3, 5]))
    def test_bar_lines_within_the_tolerance_and_placed_beats_exact(self, grid, tolerance):
        fit = fit_fewest(grid, tolerance)
        assert np.abs(fit.bar_errors).max() <= tolerance + RESOLUTION
        assert np.abs(off(fit, grid.beats[:1], grid)).max() <= tolerance + RESOLUTION
        placed = [beat for beat in grid.beats if beat.placed]
        assert np.abs(off(fit, placed, grid)).max(initial=0) <= RESOLUTION
        knots = set(fit.tempo_map.quarters)
        exact = [beat for beat in placed if float(grid.quarter_of(beat)) in knots]
        assert not off(fit, exact, grid).any()

    @given(grids(), st.sampled_from([0, 0.01, 0.3]))
    def test_goes_forward_at_no_absurd_tempo(self, grid, tolerance):
        assert (fit_fewest(grid, tolerance).tempo_map.tempi < 1000.01).all()

    @given(grids())
    def test_more_tolerance_never_takes_more_knots(self, grid):
        counts = [len(fit_fewest(grid, tolerance).tempo_map.tempi) for tolerance in (0, 0.003, 0.01, 0.1, 1)]
        assert counts == sorted(counts, reverse=True)
        assert counts[0] <= len(fit_bars(grid).tempo_map.tempi)

    @given(grids())
    def test_the_errors_reported_are_those_of_the_map(self, grid):
        fit = fit_fewest(grid, 0.05)
        assert fit.bar_errors.tolist() == off(fit, grid.bar_lines, grid).tolist()
        assert not fit.bar_errors.flags.writeable

    @pytest.mark.parametrize("tempo", [60, 61, 90, 132])
    def test_a_steady_take_is_two_knots_at_no_tolerance(self, tempo):
        fit = fit_fewest(bars_of(np.full(400, 240 / tempo)), 0)
        assert len(fit.tempo_map.quarters) == 2
        assert fit.tempo_map.tempi == pytest.approx([tempo])

    def test_every_line_placed_and_steady_is_two_knots(self):
        fit = fit_fewest(bars_of(np.full(300, 240 / 61), placed=range(301)), 0.05)
        assert len(fit.tempo_map.quarters) == 2
        assert np.abs(fit.bar_errors).max() <= RESOLUTION

    def test_finds_the_tempo_changes_that_made_the_take(self):
        bars = [240 / tempo for tempo, count in ((90, 7), (132, 2), (60, 1), (61, 12)) for _ in range(count)]
        tempo_map = fit_fewest(bars_of(bars), 0).tempo_map
        assert tempo_map.quarters.tolist() == [0, 28, 36, 40, 88]
        assert tempo_map.tempi == pytest.approx([90, 132, 60, 61])

    def test_a_placed_line_is_kept_where_a_suggested_one_gives_way(self):
        lengths = [2, 2, 2.04, 1.96, 2, 2]
        assert fit_fewest(bars_of(lengths), 0.03).tempo_map.quarters.tolist() == [0, 24]
        fit = fit_fewest(bars_of(lengths, placed=[1, 2, 3]), 0.03)
        assert fit.tempo_map.quarters.tolist()[1:3] == [8, 12]
        assert fit.bar_errors[1:4] == pytest.approx([0, 0, 0], abs=RESOLUTION)

    def test_does_not_hug_the_tolerance(self):
        """A straight line through jittered bars is their least squares when the tolerance allows it."""
        rng = np.random.default_rng(3)
        times = 2.0 * np.arange(50) + rng.normal(0, 0.004, 50)
        fit = fit_fewest(bars_of(np.diff(times)), 0.05)
        slope, offset = np.polyfit(np.arange(50), times - times[0], 1)
        assert len(fit.tempo_map.quarters) == 2
        assert fit.tempo_map.seconds == pytest.approx([offset, offset + 49 * slope], abs=1e-4)

    def test_the_same_answer_every_time(self):
        grid = bars_of(2 + 0.1 * np.sin(np.arange(100)))
        first, second = fit_fewest(grid, 0.02), fit_fewest(grid, 0.02)
        assert np.array_equal(first.tempo_map.seconds, second.tempo_map.seconds)

    @pytest.mark.parametrize("tolerance", [-0.01, float("nan"), float("inf")])
    def test_refuses_a_tolerance_that_is_none(self, tolerance):
        with pytest.raises(InputError, match="give 0 or more"):
            fit_fewest(bars_of([2, 2]), tolerance)


@pytest.mark.parametrize("fit", [fit_bars, lambda g: fit_beats(g, "all"), lambda g: fit_fewest(g, 0.01)])
@pytest.mark.parametrize("beats", [(), (Beat(1.0, 1, 1),)])
def test_one_bar_line_is_too_few(fit, beats):
    with pytest.raises(InputError, match="one more bar line"):
        fit(Grid(Metre.steady(FOUR), beats))


class TestPublishedTiming:
    def test_phrase_arch(self):
        """KTH rule system (A. Friberg, R. Bresin, J. Sundberg 2006): 16 x 500 ms, k = 1, turn .5."""
        milliseconds = [550, 537.5556, 526.8889, 518, 510.8889, 505.5556, 502, 500.2222]
        milliseconds += [500.4444, 504, 511.1111, 521.7778, 536, 553.7778, 575.1111, 600]
        grid = grid_of(np.divide(milliseconds, 1000), Metre.steady(FOUR))
        fit = fit_beats(grid, "all")
        assert fit.tempo_map.tempi == pytest.approx(60000 / np.array(milliseconds))
        assert float(fit.tempo_map.seconds_at(16)) == pytest.approx(8.4533333, abs=1e-6)
        # Bars of 2132.4445, 2018.6667, 2037.3333 and 2264.8889 ms: no straight line holds them to 10 ms.
        fewest = fit_fewest(grid, 0.01)
        assert 2 < len(fewest.tempo_map.quarters) < 5
        assert np.abs(fewest.bar_errors).max() <= 0.01 + RESOLUTION

    def test_final_ritardando(self):
        """A. Friberg and J. Sundberg, JASA 105 (1999), q = 3, w = 1/4, after 16 beats of half a second."""
        times = np.array([0, 0.510859, 1.046275, 1.611788, 2.215585, 2.870794, 3.601329, 4.462250, 5.714286])
        grid = grid_of(np.r_[np.full(16, 0.5), np.diff(times)], Metre.steady(FOUR))
        fit = fit_beats(grid, "all")
        assert fit.tempo_map.seconds_at(16 + np.arange(9)) == pytest.approx(8 + times)
        assert fit_bars(grid).tempo_map.seconds_at([16, 20, 24]) == pytest.approx([8, 10.215585, 13.714286])
        # The even bars need no knot inside, whatever comes after them.
        assert fit_fewest(grid, 0.001).tempo_map.quarters.tolist() == [0, 16, 20, 24]
