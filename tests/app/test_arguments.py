"""Words of the command line as values."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import arguments
from app.telling import metre_text
from core.document import Section
from core.errors import InputError
from core.metre import Metre, TimeSignature

SIGNATURES = st.builds(
    lambda groups, denominator: TimeSignature(sum(groups), denominator, tuple(groups)),
    st.lists(st.integers(1, 4), min_size=2, max_size=5),
    st.sampled_from([2, 4, 8, 16]),
)


def test_a_metre_with_changes_and_uneven_beats():
    metre = arguments.metre("4/4, 17:3/4,33:2+2+3/8", Fraction(1))
    assert [(bar, str(signature)) for bar, signature in metre.changes] == [(1, "4/4"), (17, "3/4"), (33, "7/8")]
    assert metre.at(33).groups == (2, 2, 3)
    assert metre.pickup == 1


@given(st.dictionaries(st.integers(2, 500), SIGNATURES, max_size=4), SIGNATURES)
def test_a_metre_is_told_as_it_is_given(changes, first):
    metre = Metre(((1, first), *sorted(changes.items())))
    assert arguments.metre(metre_text(metre), Fraction(0)) == metre


@pytest.mark.parametrize(
    ("text", "length"), [("1", 1), ("1/2", Fraction(1, 2)), ("0.5", Fraction(1, 2)), ("0", 0)]
)
def test_quarters(text, length):
    assert arguments.quarters(text) == length


@pytest.mark.parametrize(("text", "seconds"), [("10", 0.01), ("0.01", 0.00001)])
def test_a_tolerance_is_given_in_milliseconds(text, seconds):
    assert arguments.tolerance(text) == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["0", "-3", "nan", "inf", "ten", ""])
def test_no_tolerance(text):
    with pytest.raises(InputError, match="milliseconds"):
        arguments.tolerance(text)


@pytest.mark.parametrize(("text", "lead_in"), [("fill", "fill"), ("none", "none"), ("0", 0), ("12", 12)])
def test_lead_in(text, lead_in):
    assert arguments.lead_in(text) == lead_in


@pytest.mark.parametrize("text", ["-1", "1.5", "\u0662", "auto", ""])
def test_no_lead_in(text):
    with pytest.raises(InputError, match="number of bars"):
        arguments.lead_in(text)


def test_a_section_may_have_colons_in_its_name():
    assert arguments.section("17: Second theme: waltz") == Section(17, "Second theme: waltz")


@pytest.mark.parametrize("text", ["17", "17:", "17: ", "x:Coda", ":Coda"])
def test_no_section(text):
    with pytest.raises(InputError, match="Second theme"):
        arguments.section(text)
