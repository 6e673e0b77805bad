"""The tempo map against closed forms, published timing formulas and a general interpolation library."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import interp1d

from core.errors import InputError
from core.tempo_map import TempoMap


@st.composite
def maps(draw):
    """Maps of up to 30 segments at 10 to 1000 quarters a minute, anywhere in a two-hour take."""
    segments = draw(st.lists(st.tuples(st.floats(0.05, 16), st.floats(10, 1000)), min_size=1, max_size=30))
    lengths, tempi = np.array(segments).T
    quarters = draw(st.floats(-16, 16)) + np.r_[0, np.cumsum(lengths)]
    seconds = draw(st.floats(-60, 7200)) + np.r_[0, np.cumsum(60 * lengths / tempi)]
    return TempoMap(quarters, seconds)


def ramp(tempo_of, *, over: float, knots: int = 2001) -> TempoMap:
    """A map whose tempo follows a law of the score position, each segment at its middle's tempo."""
    quarters = np.linspace(0, over, knots)
    middles = (quarters[1:] + quarters[:-1]) / 2
    return TempoMap(quarters, np.r_[0, np.cumsum(60 * np.diff(quarters) / tempo_of(middles))])


class TestBothWays:
    @given(maps(), st.lists(st.floats(-50, 600), min_size=1, max_size=20))
    def test_each_direction_undoes_the_other(self, tempo_map, quarters):
        back = tempo_map.quarters_at(tempo_map.seconds_at(quarters))
        # Seconds of a two-hour take are held to 1e-12, at 1000 quarters a minute 1e-11 of a quarter.
        np.testing.assert_allclose(back, quarters, rtol=1e-11, atol=1e-10)
        seconds = tempo_map.seconds_at(quarters)
        np.testing.assert_allclose(tempo_map.seconds_at(back), seconds, rtol=1e-12, atol=1e-9)

    @given(maps())
    def test_knots_are_exact_to_the_last_bit(self, tempo_map):
        assert np.array_equal(tempo_map.seconds_at(tempo_map.quarters), tempo_map.seconds)
        assert np.array_equal(tempo_map.quarters_at(tempo_map.seconds), tempo_map.quarters)

    @given(maps(), st.lists(st.floats(-50, 600), min_size=1, max_size=20))
    def test_agrees_with_scipy_inside_and_beyond_the_ends(self, tempo_map, quarters):
        reference = interp1d(tempo_map.quarters, tempo_map.seconds, fill_value="extrapolate")
        np.testing.assert_allclose(tempo_map.seconds_at(quarters), reference(quarters), rtol=1e-11, atol=1e-9)

    @given(maps(), st.lists(st.integers(-500, 6000), min_size=2, max_size=20, unique=True))
    def test_later_in_the_score_is_later_in_time(self, tempo_map, tenths):
        quarters = np.sort(tenths) / 10
        assert (np.diff(tempo_map.seconds_at(quarters)) > 0).all()
        assert (np.diff(tempo_map.quarters_at(quarters)) > 0).all()


class TestTempo:
    tempo_map = TempoMap([0, 4, 8], [1, 3, 7])

    def test_of_each_segment(self):
        assert self.tempo_map.tempi.tolist() == [120, 60]

    def test_at_a_knot_is_that_of_the_segment_it_starts(self):
        assert self.tempo_map.tempo_at([-1, 0, 3.9, 4, 7.9, 8, 100]).tolist() == [120, 120, 120, 60, 60, 60, 60]

    def test_of_an_end_segment_goes_on_beyond_it(self):
        assert self.tempo_map.seconds_at([-2, 10]).tolist() == [0, 9]
        assert self.tempo_map.quarters_at([0, 9]).tolist() == [-2, 10]


class TestShapes:
    tempo_map = TempoMap([Fraction(0), Fraction(7, 2)], [0, 7])

    def test_scalar_in_scalar_out(self):
        assert self.tempo_map.seconds_at(1).shape == ()
        assert float(self.tempo_map.seconds_at(Fraction(1, 4))) == 0.5
        assert float(self.tempo_map.tempo_at(Fraction(1, 4))) == 30

    def test_fractions_and_tables(self):
        assert self.tempo_map.seconds_at([Fraction(1, 2), Fraction(3)]).tolist() == [1, 6]
        assert self.tempo_map.quarters_at(np.zeros((2, 3))).shape == (2, 3)

    def test_what_was_cut_out_of_the_take_stays_unknown(self):
        assert np.isnan(self.tempo_map.quarters_at([0, np.nan])).tolist() == [False, True]

    def test_knots_cannot_be_changed(self):
        with pytest.raises(ValueError, match="read-only"):
            self.tempo_map.seconds[0] = 1


@pytest.mark.parametrize(
    ("quarters", "seconds", "says"),
    [
        ([0], [0], "at least two points"),
        ([0, 4], [0, 1, 2], "not 3 for 2"),
        ([0, 4, 8], [0, 2, 2], "times of the tempo map repeats at position 3"),
        ([0, 4, 3], [0, 2, 4], "score positions of the tempo map goes back at position 3"),
        ([0, 4], [0, np.nan], "not a number at position 2"),
    ],
)
def test_refuses_what_is_no_map(quarters, seconds, says):
    with pytest.raises(InputError, match=says):
        TempoMap(quarters, seconds)


class TestRampsFrom60To120Over8Beats:
    """Durations by integration: 8 ln 2, 8 / 1.5 and 8 * (1 + 1/2) / 2 seconds."""

    def test_tempo_linear_in_beats(self):
        tempo_map = ramp(lambda x: 60 + 60 * x / 8, over=8)
        assert float(tempo_map.seconds_at(8)) == pytest.approx(5.545177, abs=1e-6)
        assert tempo_map.tempi[[0, -1]] == pytest.approx([60, 120], rel=1e-3)

    def test_tempo_linear_in_time(self):
        seconds = np.linspace(0, 5.333333, 2001)
        tempi = 60 + 60 * (seconds[1:] + seconds[:-1]) / 2 / 5.333333
        tempo_map = TempoMap(np.r_[0, np.cumsum(np.diff(seconds) * tempi / 60)], seconds)
        assert float(tempo_map.quarters_at(5.333333)) == pytest.approx(8, abs=1e-6)
        assert float(tempo_map.seconds_at(8)) == pytest.approx(5.333333, abs=1e-6)

    def test_interval_linear_in_beats(self):
        tempo_map = ramp(lambda x: 60 / (1 - x / 16), over=8)
        assert float(tempo_map.seconds_at(8)) == pytest.approx(6.000000, abs=1e-6)


class TestPublishedTiming:
    @pytest.mark.parametrize(
        ("q", "w", "times"),
        [
            (3, 0.25, [0.261569, 0.553896, 0.900332, 1.428571]),
            (2, 0.5, [0.262966, 0.558482, 0.902832, 1.333333]),
        ],
    )
    def test_final_ritardando(self, q, w, times):
        """A. Friberg and J. Sundberg, JASA 105 (1999): v(x) = (1 + (w^q - 1) x)^(1/q) and its integral T(x)."""
        tempo_map = ramp(lambda x: 60 * (1 + (w**q - 1) * x) ** (1 / q), over=1, knots=20001)
        assert tempo_map.seconds_at([0.25, 0.5, 0.75, 1]) == pytest.approx(times, abs=2e-6)

    def test_final_ritardando_of_eight_half_second_beats(self):
        """The same source, q = 3, w = 1/4: from 120 quarters a minute to 30."""
        tempo_map = ramp(lambda x: 120 * (1 + (0.25**3 - 1) * x / 8) ** (1 / 3), over=8, knots=20001)
        times = [0, 0.510859, 1.046275, 1.611788, 2.215585, 2.870794, 3.601329, 4.462250, 5.714286]
        assert tempo_map.seconds_at(np.arange(9)) == pytest.approx(times, abs=1e-5)
        assert tempo_map.quarters_at(times) == pytest.approx(np.arange(9), abs=1e-5)
        assert float(tempo_map.tempo_at(0)) == pytest.approx(120, rel=1e-3)
