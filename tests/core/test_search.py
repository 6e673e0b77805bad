"""The table of the search, on pulses whose answer is plain (synthesised here)."""

from __future__ import annotations

import numpy as np
import pytest

from core.costs import Costs
from core.metre import TimeSignature
from core.pulse import pulse_of
from core.search import Steps, Table


def table_of(times: np.ndarray, *, beat: float = 0.5) -> Table:
    """A table over onsets that say nothing but when they are, every fourth of them heard as a bar line."""
    pulse = pulse_of(TimeSignature(4, 4), beat)
    heard = np.full((len(times), 3), -2.0)
    heard[:, 1] = 1.0
    heard[::4, 2] = 4.0
    return Table(Steps(times, pulse, float(np.log(beat)), Costs()), heard)


@pytest.mark.parametrize("beat", [0.4, 0.5, 0.6])
def test_an_even_pulse_is_read_onset_by_onset(beat):
    times = np.arange(40) * beat
    steps = list(table_of(times).read(0.0, 0, float(np.log(beat))))
    assert [step.node for step in steps] == list(range(1, 40))
    assert [step.unit for step in steps][:8] == [1, 2, 3, 0, 1, 2, 3, 0]


def test_a_hesitation_leaves_the_tempo_as_it_was():
    times = np.arange(40) * 0.5
    times[16:] += 3.0
    steps = list(table_of(times).read(0.0, 0, float(np.log(0.5))))
    after = next(step for step in steps if step.node == 16)
    assert after.unit == 0
    assert np.exp(after.quarter) == pytest.approx(0.5, rel=0.05)
    assert [step.node for step in steps] == list(range(1, 40))


def test_a_tempo_that_slows_down_is_followed():
    times = np.concatenate([[0.0], np.cumsum(np.linspace(0.5, 0.75, 40))])
    steps = list(table_of(times).read(0.0, 0, float(np.log(0.5))))
    assert [step.node for step in steps] == list(range(1, 41))
    assert np.exp(steps[-1].quarter) == pytest.approx(0.75, rel=0.1)


def test_reading_may_begin_between_two_onsets():
    times = np.arange(1, 40) * 0.5
    steps = list(table_of(times).read(0.2, 3, float(np.log(0.5))))
    assert steps
    assert all(times[step.node] > 0.2 for step in steps)
