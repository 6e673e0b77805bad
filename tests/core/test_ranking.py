"""Confidence and alternatives of a bar line (pulses synthesised here; truth from the phrase arch's formula)."""

from __future__ import annotations

import numpy as np
import pytest

from core.costs import Costs
from core.long_table import LongTable
from core.metre import TimeSignature
from core.pulse import pulse_of
from core.ranking import APART, MOST, Line, judge
from tests.core.played import arched


@pytest.fixture(scope="module")
def arch() -> tuple[np.ndarray, LongTable]:
    """Phrases of 16 beats of about half a second, evidence for a bar line on every fourth."""
    times = arched(6, 16, 0.5)
    evidence = np.full((len(times), 3), [1.0, 1.0, -4.0])
    evidence[::4, 2] = 2.0
    return times, LongTable(times, pulse_of(TimeSignature(4, 4), 0.5), float(np.log(0.5)), Costs(), evidence)


def test_the_pulses_follow_the_published_values():
    """16 pulses of 500 ms, k = 1, turn at half: the values of Friberg, Bresin and Sundberg 2006, in ms."""
    durations = 1000 * np.diff(arched(1, 16, 0.5))
    assert np.allclose(durations[[0, 1, 6, 7, 8, 14, 15]], [550, 537.5556, 502, 500.2222, 500.4444, 575.1111, 600])


def test_a_line_that_evidence_and_tempo_agree_on_is_sure(arch):
    times, table = arch
    verdict = judge(table, Line(float(times[20]), float(times[24]), float(np.log(0.52))))
    assert verdict.confidence > 0.9
    assert all(abs(place - times[24]) > APART for place in verdict.alternatives)


def test_a_line_put_a_beat_late_is_doubtful_and_has_the_right_place_first(arch):
    times, table = arch
    verdict = judge(table, Line(float(times[20]), float(times[25]), float(np.log(0.52))))
    assert verdict.confidence < 0.1
    assert verdict.alternatives[0] == times[24]
    assert len(verdict.alternatives) <= MOST


def test_where_nothing_sounds_a_line_has_no_confidence_and_no_alternatives(arch):
    times, table = arch
    verdict = judge(table, Line(float(times[-1]) + 5.0, float(times[-1]) + 7.0, float(np.log(0.5))))
    assert (verdict.confidence, verdict.alternatives) == (0.0, ())
