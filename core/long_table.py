"""The table of a whole take, made in blocks where it is read.

What lies some bars ahead no longer bears on the next step, so a block is searched from a little after its end:
a tempo or a metre that is tried for a few bars costs a block and not the take.
"""

from __future__ import annotations

from collections import OrderedDict
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


class Shelf:
    """Blocks of many tables, those used last kept as long as there is room.

    Parameters
    ----------
    room : float
        Bytes they may take; one block is kept in any case.
    """

    def __init__(self, room: float) -> None:
        self.room, self.held = room, 0
        self._blocks: OrderedDict[tuple[LongTable, int], Table] = OrderedDict()

    def block(self, of: LongTable, index: int) -> Table:
        """A block of a table, made where it is not here any more."""
        key = of, index
        if key in self._blocks:
            self._blocks.move_to_end(key)
            return self._blocks[key]
        made = self._blocks[key] = of.block(index)
        self.held += made.nbytes
        while self.held > self.room and len(self._blocks) > 1:
            _, old = self._blocks.popitem(last=False)
            self.held -= old.nbytes
        return made


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
    shelf : Shelf, optional
        Where its blocks are kept; all of them by itself where none is given.
    """

    def __init__(
        self,
        time: Floats,
        pulse: Pulse,
        centre: float,
        costs: Costs,
        evidence: Floats,
        shelf: Shelf | None = None,
    ) -> None:
        self.steps = Steps(time, pulse, centre, costs)
        self._centre, self._evidence = centre, evidence
        self._shelf = shelf or Shelf(np.inf)

    def at(self, moment: float) -> tuple[Table, int]:
        """The block that goes on from a moment, and the index in the take of its first onset."""
        node = int(np.searchsorted(self.steps.time, moment + SAME)) - 1
        index = max(node, 0) // BLOCK
        return self._shelf.block(self, index), index * BLOCK

    def ahead(self) -> Iterator[None]:
        """Make all blocks, one at each step, for whoever has the time now and not later."""
        for first in range(0, len(self.steps.time), BLOCK):
            self.at(float(self.steps.time[first]))
            yield

    def block(self, index: int) -> Table:
        """Make a block."""
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
