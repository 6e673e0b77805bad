"""What bar lines look like is learned from those tapped."""

from fractions import Fraction

import numpy as np

from core.evidence import Heard
from core.metre import Metre, TimeSignature
from core.tap_learn import FEWEST, learned
from core.way import Mark

FOUR = TimeSignature(4, 4)
METRE = Metre.steady(FOUR)
TIME = np.arange(0.0, 80.0, 0.5)
# Onsets of four kinds in turn, and networks that take the third for the bar line.
KIND = np.arange(len(TIME)) % 4
HEARD = Heard(
    np.column_stack([np.zeros(len(TIME)), np.zeros(len(TIME)), np.where(KIND == 2, 2.0, -2.0)]), np.eye(4)[KIND]
)


def marks(bars):
    return [Mark(Fraction(4 * (bar - 1)), 2.0 * (bar - 1)) for bar in bars]


def test_untapped_bar_lines_are_told_by_those_tapped():
    evidence = learned({FOUR: HEARD}, TIME, marks(range(1, 40, 2)), METRE)[FOUR]
    untapped = TIME[(KIND == 0) & (np.arange(len(TIME)) % 8 == 4)]
    bar = evidence[np.isin(TIME, untapped), 2]
    assert bar.min() > evidence[KIND == 2, 2].max()
    assert np.array_equal(evidence[:, :2], HEARD.evidence[:, :2])


def test_of_few_lines_nothing_is_learned():
    few = learned({FOUR: HEARD}, TIME, marks(range(1, FEWEST)), METRE)[FOUR]
    assert np.array_equal(few, HEARD.evidence)
