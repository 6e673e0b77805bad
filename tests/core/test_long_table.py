"""The table in blocks, against the table of the whole take (pulses synthesised here)."""

from __future__ import annotations

import numpy as np
import pytest

from core.costs import Costs
from core.long_table import BLOCK, LongTable, Shelf
from core.metre import TimeSignature
from core.pulse import pulse_of
from core.search import Steps, Table
from tests.core.played import arched

QUARTER = float(np.log(0.5))


@pytest.fixture(scope="module")
def both() -> tuple[np.ndarray, Table, LongTable]:
    """Phrase arches (Friberg, Bresin, Sundberg 2006) over some blocks, evidence for a bar line on each fourth."""
    times = arched(40, 16, 0.5)
    evidence = np.full((len(times), 3), [1.0, 1.0, -4.0])
    evidence[::4, 2] = 2.0
    pulse = pulse_of(TimeSignature(4, 4), 0.5)
    whole = Table(Steps(times, pulse, QUARTER, Costs()), evidence)
    return times, whole, LongTable(times, pulse, QUARTER, Costs(), evidence)


@pytest.mark.parametrize("start", [0, 100, BLOCK - 4, BLOCK + 4])
def test_the_way_through_the_blocks_is_that_of_one_table(both, start):
    times, whole, long = both
    steps = [(step.node, step.unit) for step in long.read(float(times[start]), start % 4, QUARTER)]
    assert steps == [(step.node, step.unit) for step in whole.read(float(times[start]), start % 4, QUARTER)]
    assert steps[-1][0] == len(times) - 1


def test_a_block_is_made_once_and_starts_at_its_first_onset(both):
    times, _, long = both
    table, first = long.at(float(times[BLOCK + 1]))
    assert first == BLOCK
    assert table.steps.time[0] == times[BLOCK]
    assert long.at(float(times[BLOCK + 5]))[0] is table


def test_made_ahead_of_time_it_says_the_same(both):
    times, _, _ = both
    evidence = np.full((len(times), 3), 1.0)
    pulse = pulse_of(TimeSignature(4, 4), 0.5)
    lazy, eager = (LongTable(times, pulse, QUARTER, Costs(), evidence) for _ in range(2))
    for _ in eager.ahead():
        pass
    assert list(eager.read(0.0, 0, QUARTER)) == list(lazy.read(0.0, 0, QUARTER))


def test_before_the_first_onset_the_first_block_is_read(both):
    times, _, long = both
    assert long.at(float(times[0]) - 3.0)[1] == 0


def test_blocks_are_given_up_where_there_is_no_room_and_made_again_the_same(both):
    times, _, _ = both
    evidence = np.full((len(times), 3), 1.0)
    pulse = pulse_of(TimeSignature(4, 4), 0.5)
    plenty = LongTable(times, pulse, QUARTER, Costs(), evidence)
    shelf = Shelf(2.5 * plenty.at(0.0)[0].nbytes)
    tight = [LongTable(times, pulse, QUARTER, Costs(), evidence, shelf) for _ in range(3)]
    for table in tight:
        for _ in table.ahead():
            assert shelf.held <= shelf.room
        assert list(table.read(0.0, 0, QUARTER)) == list(plenty.read(0.0, 0, QUARTER))
    kept = tight[-1].at(0.0)[0]
    assert tight[-1].at(0.0)[0] is kept
    for _ in tight[0].ahead():
        pass
    assert tight[-1].at(0.0)[0] is not kept


def test_a_block_too_large_for_the_shelf_is_kept_alone(both):
    times, _, _ = both
    table = LongTable(
        times, pulse_of(TimeSignature(4, 4), 0.5), QUARTER, Costs(), np.ones((len(times), 3)), Shelf(1.0)
    )
    assert table.at(0.0)[0] is table.at(0.0)[0]
