"""Where a take lies in the session."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.fit import fit_bars, fit_beats, fit_fewest
from core.lead_in import SANE
from core.metre import Metre, TimeSignature
from core.session import place
from tests.core.free_grids import FOUR, grid_of, grids, rubato

METRE = Metre.steady(FOUR)


def placed(grid, **choice):
    return place(grid, fit_bars(grid), **choice)


def test_the_recording_lies_at_the_very_start():
    session = placed(grid_of(METRE, [0.5] * 40, start=3.9))
    assert session.offset == 0
    assert session.lead_in == (FOUR, FOUR)
    assert session.shift == 2
    np.testing.assert_allclose(session.tempo_map.seconds_at([0, 8, 12]), [0, 3.9, 5.9])
    assert session.placing == (
        "Put the recording at the very start of the session; bar 1 of the take is bar 3 of the session."
    )


def test_a_take_that_starts_on_the_bar_line_needs_no_lead_in():
    session = placed(grid_of(METRE, [0.5] * 40))
    assert (session.offset, session.lead_in, session.shift, session.cautions) == (0, (), 0, ())


def test_a_pickup_is_completed_to_a_whole_bar():
    session = placed(grid_of(METRE, [0.5] * 41, start=1.5, bar=0, beat=4))
    assert (session.lead_in, session.shift, session.first_bar) == ((FOUR,), 1, 2)
    np.testing.assert_allclose(session.tempo_map.seconds_at([3, 4]), [1.5, 2.0])


def test_a_metre_that_changes_changes_at_the_same_music():
    three = TimeSignature(3, 4)
    session = placed(grid_of(Metre(((1, FOUR), (3, three))), [0.5] * 40, start=2.0))
    assert session.metre == Metre(((1, FOUR), (4, three)))


def test_a_start_too_short_for_a_lead_in_is_named():
    session = placed(grid_of(METRE, [0.5] * 40, start=0.005))
    assert session.offset == pytest.approx(1.995)
    assert session.lead_in == (FOUR,)
    (caution,) = session.cautions
    assert caution.bar == 1
    assert caution.text == (
        "The first beat comes 5.0 ms into the recording, too soon for a lead-in that fills it: a whole bar was "
        "put before, so put the recording at 1.995000 s of the session."
    )


def test_a_first_bar_before_the_recording_is_named():
    session = placed(grid_of(METRE, [0.5] * 40, start=-0.25))
    assert (session.offset, session.lead_in) == (0.25, ())
    assert "put the recording at 0.250000 s" in session.cautions[0].text


@pytest.mark.parametrize("choice", ["none", 0])
def test_no_lead_in_reports_the_offset(choice):
    session = placed(grid_of(METRE, [0.5] * 41, start=1.5, bar=0, beat=4), lead_in=choice)
    assert (session.offset, session.shift, session.lead_in) == (-2.0, 0, ())
    assert session.bar_times[0] == 0
    assert session.placing.startswith("Put the recording 2.000000 s before the start of the session")


def test_bars_asked_for_come_at_the_opening_tempo():
    session = placed(grid_of(METRE, [0.5] * 40, start=0.7), lead_in=2)
    assert session.lead_in == (FOUR, FOUR)
    assert session.offset == pytest.approx(4.0 - 0.7)
    np.testing.assert_allclose(session.tempo_map.tempi, 120)


def test_a_pickup_lies_in_the_last_bar_asked_for():
    session = placed(grid_of(METRE, [0.5] * 41, start=1.5, bar=0, beat=4), lead_in=1)
    assert (session.lead_in, session.offset, session.shift) == ((FOUR,), 0, 1)


def intro_of(grid, intro, **choice):
    """The session, and the seconds of its bars before the first bar line."""
    session = placed(grid, intro=intro, **choice)
    lines = [float(quarter) for quarter in session.bar_quarters[: session.first_bar]]
    return session, np.diff(session.tempo_map.seconds_at(lines))


def test_empty_bars_come_before_all_else_at_the_opening_tempo():
    grid = grid_of(METRE, rubato(32), start=3.21)
    session, lengths = intro_of(grid, 4)
    # Common practice, no source: the tempo one counts in is that of the first bars.
    bar = 4 / np.median(4 / np.diff(grid.bar_times)[:4])
    # Nothing changes on the way into the take; two bars hold the 3.21 s before it.
    assert session.lead_in == (FOUR,) * 6
    np.testing.assert_allclose(lengths, bar)
    assert session.offset == pytest.approx(6 * bar - 3.21)


@pytest.mark.parametrize(
    ("start", "pickup", "held"),
    [(0.0, 0, 0), (0.005, 0, 1), (2.0, 0, 1), (2.01, 0, 2), (0.0, 1, 1), (1.5, 1, 1), (1.51, 1, 2), (-0.25, 0, 0)],
)
def test_after_empty_bars_whole_ones_hold_what_was_recorded_before_the_first_bar_line(start, pickup, held):
    bars = {"bar": 0, "beat": 4} if pickup else {}
    session, lengths = intro_of(grid_of(METRE, [0.5] * (40 + pickup), start=start, **bars), 3)
    assert session.metre == METRE
    assert session.first_bar == 3 + held + 1
    np.testing.assert_allclose(lengths, 2.0)
    assert session.offset == pytest.approx(2.0 * (3 + held) - 0.5 * pickup - start)
    # The first empty bars are empty: the recording begins after them, unless its first bar line is before it.
    assert session.offset >= 6.0 - 1e-9
    assert session.cautions == ()


def test_without_a_lead_in_the_first_bar_line_follows_on_the_empty_bars():
    grid = grid_of(METRE, [0.5] * 41, start=1.5, bar=0, beat=4)
    session, lengths = intro_of(grid, 2, lead_in="none")
    assert (session.first_bar, session.offset) == (3, pytest.approx(2.0))
    np.testing.assert_allclose(lengths, 2.0)
    assert session.placing == (
        "Put the recording at 2.000000 s of the session; bar 1 of the take is bar 3 of the session."
    )


@pytest.mark.parametrize("choice", [-1, 1000])
def test_empty_bars_that_cannot_be_are_refused(choice):
    with pytest.raises(InputError, match="0 to 999"):
        placed(grid_of(METRE, [0.5] * 40), intro=choice)


@pytest.mark.parametrize("choice", [-1, 1000])
def test_a_lead_in_that_cannot_be_is_refused(choice):
    with pytest.raises(InputError, match="0 to 999 bars"):
        placed(grid_of(METRE, [0.5] * 40), lead_in=choice)


def test_one_bar_line_is_no_map():
    grid = grid_of(METRE, [0.5], bar=0, beat=4)
    with pytest.raises(InputError, match="two bar lines"):
        place(grid, fit_bars(grid))


def test_tempi_sequencers_refuse_are_named_with_their_bars():
    lengths = [0.5] * 8 + [3.5] * 4 + [0.5] * 4 + [0.12] * 8 + [0.5] * 4
    session = placed(grid_of(METRE, lengths, start=2.0))
    assert [caution.bar for caution in session.cautions] == [3, 5]
    assert tuple(caution.text for caution in session.cautions) == (
        "Bar 3 (bar 4 of the session) is at 17.14 quarters a minute, below 20, which many sequencers refuse: give "
        "it extra beats as a hold, or check the bar lines there.",
        "Bars 5 to 6 (bars 6 to 7 of the session) are at 500 quarters a minute, above 400, which many sequencers "
        "refuse: check the bar lines there.",
    )


@given(grids(), st.sampled_from(["fill", "none", 0, 1, 5]), st.sampled_from([0, 0, 1, 6]), st.floats(0, 0.1))
@settings(max_examples=150, deadline=None)
def test_bar_lines_keep_their_place_against_the_recording(grid, choice, intro, tolerance):
    assume(len(grid.bar_lines) > 1)
    for fit in (fit_bars(grid), fit_beats(grid, "all"), fit_fewest(grid, tolerance)):
        session = place(grid, fit, lead_in=choice, intro=intro)
        np.testing.assert_allclose(session.bar_times - session.offset, grid.bar_times, atol=1e-9)
        quarters = [float(quarter) for quarter in session.bar_quarters[session.first_bar - 1 :]]
        heard = session.tempo_map.seconds_at(quarters) - session.bar_times
        np.testing.assert_allclose(heard, fit.bar_errors, atol=1e-9)
        assert (session.tempo_map.quarters[0], session.tempo_map.seconds[0]) == (0, 0)
        for line in grid.bar_lines[:-1]:
            assert session.metre.at(line.bar + session.shift) == grid.metre.at(line.bar)
        start = fit.tempo_map.seconds[0]
        if choice == "fill" and start > 0.01:
            assert session.offset >= 0
            assert (session.offset == 0) == (not intro)
            assert SANE[0] <= session.tempo_map.tempi[0] <= SANE[1]
        if choice in ("none", 0):
            assert session.first_bar == intro + 1
        elif choice != "fill":
            assert session.first_bar == intro + choice + 1
