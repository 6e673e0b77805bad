"""Timing formulas against the values that follow from the published ones."""

import numpy as np
import pytest
from scipy.integrate import quad

from examples.timing import phrase_arch, ritardando_tempo, ritardando_time

# Friberg & Sundberg 1999 (JASA 105): T(x) at x = 1/4, 1/2, 3/4, 1, computed by hand from the published formula.
RITARDANDI = [
    (3, 0.25, [0.261569, 0.553896, 0.900332, 1.428571]),
    (2, 0.5, [0.262966, 0.558482, 0.902832, 1.333333]),
]


@pytest.mark.parametrize(("q", "w", "times"), RITARDANDI)
def test_time_of_a_final_ritardando(q, w, times):
    assert ritardando_time([0.25, 0.5, 0.75, 1], q=q, w=w) == pytest.approx(times, abs=1e-6)
    assert ritardando_time(0, q=q, w=w) == 0


def test_eight_beats_of_half_a_second_slowing_to_a_quarter_of_the_tempo():
    # Friberg & Sundberg 1999, q = 3, w = 1/4.
    beats = [0, 0.510859, 1.046275, 1.611788, 2.215585, 2.870794, 3.601329, 4.462250, 5.714286]
    assert 4 * ritardando_time(np.arange(9) / 8, q=3, w=0.25) == pytest.approx(beats, abs=1e-6)


@pytest.mark.parametrize(("q", "w"), [(3, 0.25), (2, 0.5), (2.5, 0.7)])
def test_time_is_the_integral_of_the_slowness(q, w):
    # Not from the closed form: numerical integration by scipy.
    expected = quad(lambda x: 1 / ritardando_tempo(x, q=q, w=w), 0, 0.8)[0]
    assert ritardando_time(0.8, q=q, w=w) == pytest.approx(expected, rel=1e-9)
    assert ritardando_tempo([0, 1], q=q, w=w) == pytest.approx([1, w])


def test_phrase_arch_of_sixteen_notes():
    # KTH rule system (Friberg, Bresin & Sundberg 2006), k = 1, turn = 1/2, sixteen notes of 500 ms.
    expected = [
        550, 537.5556, 526.8889, 518, 510.8889, 505.5556, 502, 500.2222,
        500.4444, 504, 511.1111, 521.7778, 536, 553.7778, 575.1111, 600,
    ]  # fmt: skip
    lengths = 500 * phrase_arch(16, k=1, turn=0.5)
    assert lengths == pytest.approx(expected, abs=1e-4)
    assert lengths.sum() == pytest.approx(8453.3333, abs=1e-4)


def test_no_arch_is_no_arch():
    assert phrase_arch(5, k=0) == pytest.approx(np.ones(5))
