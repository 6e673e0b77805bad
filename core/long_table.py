"""The table of a whole take, made in blocks where it is read.

What lies some bars ahead no longer bears on the next step, so a block is searched from a little after its end:
a tempo or a metre that is tried for a few bars costs a block and not the take.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.pulse import Pulse
from core.search import SAME, STOP, Step, Steps, Table

BLOCK = 128
"""Onsets that are read from one block."""

AHEAD = 112
"""Onsets after a block that it is searched from, at least."""

SECONDS_AHEAD = 10.0
"""Seconds after a block that it is searched from, at least."""


class LongTable:
    """A table that can be read from anywhere in a take.

    Parameters
    ----------
    time : (n,) float
        Onset times in seconds.
    pulse, centre, costs
        As for `Steps`.
    evidence : (n, 3) float
        As for `Table`.
    """

    def __init__(self, time: Floats, pulse: Pulse, centre: float, costs: Costs, evidence: Floats) -> None:
        self.steps = Steps(time, pulse, centre, costs)
        self._centre, self._evidence = centre, evidence
        self._blocks: dict[int, Table] = {}

    def at(self, moment: float) -> tuple[Table, int]:
        """The block that goes on from a moment, and the index in the take of its first onset."""
        node = int(np.searchsorted(self.steps.time, moment + SAME)) - 1
        index = max(node, 0) // BLOCK
        if index not in self._blocks:
            self._blocks[index] = self._block(index)
        return self._blocks[index], index * BLOCK

    def ahead(self) -> Iterator[None]:
        """Make all blocks, one at each step, for whoever has the time now and not later."""
        for first in range(0, len(self.steps.time), BLOCK):
            self.at(float(self.steps.time[first]))
            yield

    def _block(self, index: int) -> Table:
        time = self.steps.time
        first, last = index * BLOCK, min((index + 1) * BLOCK, len(time))
        enough = int(np.searchsorted(time, time[last - 1] + SECONDS_AHEAD)) if last else 0
        end = max(last + AHEAD, enough)
        part = slice(first, end)
        steps = Steps(time[part], self.steps.pulse, self._centre, self.steps.costs)
        # Only where the take ends may the count end early at no great cost.
        return Table(steps, self._evidence[part], stop=STOP if end >= len(time) else 5 * STOP)

    def read(self, start: float, unit: int, quarter: float) -> Iterator[Step]:
        """Read the best way on from a moment, as `Table.read` does, with onsets counted from the take's first."""
        node = -1
        while True:
            table, first = self.at(start)
            for step in table.read(start, unit, quarter):
                node = first + step.node
                start, unit, quarter = float(self.steps.time[node]), step.unit, step.quarter
                yield Step(node, unit, step.units, quarter)
                if node >= first + BLOCK:
                    break
            else:
                return
