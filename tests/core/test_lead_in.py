"""How many bars come before the first bar line. Arithmetic by hand beside each check."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.lead_in import SANE, asked_lead, filling_lead, pickup_only
from core.metre import TimeSignature

FOUR, SIX = TimeSignature(4, 4), TimeSignature(6, 8)


def written(lead):
    return [str(bar) for bar in lead.bars]


@pytest.mark.parametrize(
    ("signature", "pickup", "seconds", "tempo", "bars"),
    [
        (FOUR, 0, 4.8, 100, ["4/4", "4/4"]),  # two bars of 2.4 s
        (FOUR, 0, 3.3, 100, ["4/4"]),  # 72.7 is nearer to 100 by ratio than 145.5
        (FOUR, 0, 3.5, 100, ["4/4", "4/4"]),  # 137.1 is nearer than 68.6
        (FOUR, 0, 1.25, 100, ["4/4"]),  # 192: still less than twice
        (FOUR, 0, 1.15, 100, ["2/4"]),  # a whole bar would need 208.7; two quarters give 104.3
        (FOUR, 0, 0.2, 100, ["1/8"]),  # a quarter would need 300, an eighth 150
        (FOUR, 0, 0.012, 100, ["1/64"]),  # 312.5, for want of anything nearer
        (FOUR, 1, 1.8, 100, ["4/4"]),  # three quarters complete the pickup's bar
        (FOUR, 1, 4.2, 100, ["4/4", "4/4"]),  # and four more
        (FOUR, 1, 0.6, 100, ["2/4"]),  # one quarter before a pickup of one
        (FOUR, 1, 0.25, 100, ["1/8", "1/4"]),  # an eighth before a pickup of a quarter
        (SIX, 0, 3.0, 60, ["6/8"]),
        (SIX, 0, 0.5, 60, ["1/8"]),
    ],
)
def test_time_is_filled_at_a_sane_tempo(signature, pickup, seconds, tempo, bars):
    lead = filling_lead(signature, Fraction(pickup), seconds, tempo)
    assert written(lead) == bars
    assert lead.seconds == seconds
    assert sum(bar.quarters for bar in lead.bars) == lead.quarters + pickup


def test_what_is_too_short_for_any_bar_is_said_so():
    # A sixty-fourth at 400 lasts 60 / 400 / 16 s = 9.375 ms.
    assert filling_lead(FOUR, Fraction(0), 0.0093, 100) is None
    assert written(filling_lead(FOUR, Fraction(0), 0.0094, 100)) == ["1/64"]


@given(
    st.sampled_from([FOUR, SIX, TimeSignature(7, 8, (2, 2, 3)), TimeSignature(5, 64), TimeSignature(3, 1)]),
    st.booleans(),
    st.floats(0.01, 600),
    st.floats(*SANE),
)
def test_every_lead_in_is_sane_and_ends_on_the_bar_line(signature, has_pickup, seconds, tempo):
    pickup = (
        signature.quarters - signature.beat_quarters[-1] if has_pickup and signature.beats > 1 else Fraction(0)
    )
    lead = filling_lead(signature, pickup, seconds, tempo)
    assert lead is not None
    assert SANE[0] <= 60 * float(lead.quarters) / seconds <= SANE[1]
    assert sum(bar.quarters for bar in lead.bars) == lead.quarters + pickup
    if seconds * tempo / 60 >= signature.quarters:
        assert set(lead.bars) == {signature}


def test_asked_bars_hold_the_pickup_in_the_last():
    lead = asked_lead(FOUR, Fraction(1), 2, 120)
    assert (written(lead), lead.quarters, lead.seconds) == (["4/4", "4/4"], 7, 3.5)


def test_a_pickup_at_the_very_start_becomes_a_bar_of_its_own():
    assert written(pickup_only(FOUR, Fraction(3, 2))) == ["3/8"]
    assert pickup_only(FOUR, Fraction(0)).bars == ()
