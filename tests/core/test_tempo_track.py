"""Tempo events: rounding that is fed forward."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.checks import frozen
from core.errors import HandoverError, InputError
from core.fit import fit_bars, fit_beats, fit_fewest
from core.metre import Metre, TimeSignature
from core.session import Session, place
from core.tempo_map import TempoMap
from core.tempo_track import tempo_track
from tests.core.free_grids import FOUR, grid_of, grids, rubato


def session_of(metre, tempo_map, bars):
    return Session(metre=metre, tempo_map=tempo_map, offset=0.0, shift=0, bar_times=frozen(np.arange(bars + 1)))


def steady(per_minute, bars, signature=FOUR):
    quarters = bars * float(signature.quarters)
    return session_of(Metre.steady(signature), TempoMap([0, quarters], [0, 60 * quarters / per_minute]), bars)


def errors_at_bars(track, session):
    quarters = np.array([float(quarter) for quarter in session.bar_quarters])
    return np.abs(track.sounding.seconds_at(quarters) - session.tempo_map.seconds_at(quarters))


@pytest.mark.parametrize(
    ("per_minute", "us", "drift_ms"),
    # MIDI 1.0, RP-001: whole microseconds a quarter; the drift over 1000 beats that one rounded event makes.
    [(60, 1000000, 0), (61, 983607, 0.443), (90, 666667, 0.333), (120, 500000, 0), (132, 454545, -0.455)],
)
def test_the_drift_of_one_rounded_tempo_is_fed_back(per_minute, us, drift_ms):
    assert 1000 * (1000 * us / 1e6 - 1000 * 60 / per_minute) == pytest.approx(drift_ms, abs=5e-4)
    session = steady(per_minute, 250)
    track = tempo_track(session, division=960)
    assert track.us[0] == us
    assert max(abs(other - us) for other in track.us) <= 2
    assert (len(track.us) == 1) == (drift_ms == 0)
    assert errors_at_bars(track, session).max() <= 8.001e-6


def test_the_specifications_time_example():
    # RP-001: 6144 ticks at division 96 and 500000 us a quarter are 32000 ms.
    track = tempo_track(steady(120, 16), division=96)
    assert track.bars[-1] == 6144
    assert track.sounding.seconds_at(6144 / 96) == 32.0


def test_two_hours_of_free_playing_stay_within_a_hundredth_of_a_millisecond():
    grid = grid_of(Metre.steady(FOUR), rubato(4 * 3100, length=0.6), start=1.7)
    assert grid.bar_times[-1] > 7200
    for fit in (fit_bars(grid), fit_beats(grid, "all"), fit_fewest(grid, 0.03)):
        session = place(grid, fit)
        assert errors_at_bars(tempo_track(session, division=960), session).max() < 1e-5


def test_bars_longer_than_one_rounded_tempo_can_hold_get_a_second_event():
    # 255/4 at 61: half a microsecond a quarter would be up to 0.13 ms at the next bar line.
    session = steady(61.0001, 5, TimeSignature(255, 4))
    track = tempo_track(session, division=960)
    assert errors_at_bars(track, session).max() < 1e-8
    assert len(track.us) <= 10


def test_knots_between_ticks_do_not_push_bar_lines():
    knot = Fraction(1, 3)
    session = session_of(Metre.steady(FOUR), TempoMap([0, 4 + float(knot), 40], [0, 3.1, 20.7]), 10)
    assert errors_at_bars(tempo_track(session, division=96), session).max() < 1e-5


def test_one_event_is_enough_where_the_tempo_is_a_whole_number_of_microseconds():
    assert tempo_track(steady(120, 500), division=480).ticks == (0,)


@given(grids(), st.sampled_from([96, 480, 960, 15360]), st.floats(0, 0.05))
@settings(max_examples=60, deadline=None)
def test_every_bar_line_is_within_a_hundredth_of_a_millisecond(grid, division, tolerance):
    for fit in (fit_beats(grid, "all"), fit_fewest(grid, tolerance)):
        if len(grid.bar_lines) < 2:
            return
        session = place(grid, fit)
        track = tempo_track(session, division=division)
        assert errors_at_bars(track, session).max() < 1e-5
        assert all(a < b for a, b in zip(track.ticks, track.ticks[1:], strict=False))


@pytest.mark.parametrize("division", [95, 15361, 0, -480])
def test_a_division_that_cannot_be_is_refused(division):
    with pytest.raises(InputError, match="choose 96 to 15360"):
        tempo_track(steady(120, 4), division=division)


def test_a_division_that_cuts_bars_unevenly_is_refused():
    with pytest.raises(InputError, match="multiple of 16"):
        tempo_track(steady(120, 4, TimeSignature(5, 64)), division=100)


def test_a_tempo_below_what_the_format_can_say_is_refused_by_name():
    # RP-001: 0xFFFFFF microseconds are 3.576279 quarters a minute.
    grid = grid_of(Metre.steady(FOUR), [0.5] * 12 + [17.0] * 4 + [0.5] * 4, start=2.0)
    with pytest.raises(HandoverError, match=r"^Bar 4 \(bar 5 of the session\) is slower .*\(3\.576 .* hold\.$"):
        tempo_track(place(grid, fit_bars(grid)), division=960)
