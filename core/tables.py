"""What a take says of its bars whatever the metre, worked out when first asked for and kept.

Everything here hangs on the onsets alone, so it outlives a change of metre and every placed line.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from core.checks import Floats
from core.costs import Costs
from core.evidence import Evidence
from core.metre import TimeSignature
from core.network import Network
from core.onsets import Onsets
from core.opening import Opening, openings
from core.pace import LEVEL
from core.pulse import pulse_of
from core.ranking import Judged, Line, judge
from core.search import BINS, Steps, Table
from core.weights import networks as trained

MEMORY = 400e6
"""Bytes that the tables kept may take, about."""

FEWEST = 6
"""Tables kept however long the take."""

MOST_JUDGED = 20_000
"""Verdicts on single bar lines that are kept."""


class Tables:
    """Evidence, tables and verdicts of one take, kept while there is room, the last used the longest.

    Parameters
    ----------
    onsets : Onsets
        What was heard, at least two onsets.
    networks : sequence of Network, optional
        Instead of those that come with the library.
    costs : Costs, optional
        Weights of the search.
    """

    def __init__(
        self, onsets: Onsets, *, networks: Sequence[Network] | None = None, costs: Costs | None = None
    ) -> None:
        self.onsets, self.costs = onsets, costs or Costs()
        self._evidence = Evidence(onsets, networks if networks is not None else trained(onsets.source))
        # A bar has some ten units; a state takes six bytes.
        room = max(FEWEST, int(MEMORY / (60 * BINS * max(len(onsets), 1))))
        self.heard = lru_cache(maxsize=4 * room)(self._heard)
        self.table = lru_cache(maxsize=room)(self._table)
        self.judged = lru_cache(maxsize=MOST_JUDGED)(self._judged)
        self.openings = lru_cache(maxsize=64)(self._openings)

    def _heard(self, signature: TimeSignature, level: int) -> Floats:
        """Evidence at each onset when the bars of a signature are supposed to go at a level of tempo."""
        return self._evidence.supposing(signature, float(np.exp(level * LEVEL)))

    def _table(self, signature: TimeSignature, level: int, way: int) -> Table:
        """Table of the search onwards or, with `way` -1, backwards in time."""
        centre = level * LEVEL
        pulse = pulse_of(signature, float(np.exp(centre)))
        heard, time = self.heard(signature, level), self.onsets.time
        if way < 0:
            pulse, heard, time = pulse.mirrored(), heard[::-1], -time[::-1]
        return Table(Steps(time, pulse, centre, self.costs), heard)

    def _judged(self, signature: TimeSignature, level: int, line: Line) -> Judged:
        """How sure a suggested bar line is, and where else it could be."""
        return judge(self.table(signature, level, 1), line)

    def _openings(self, signatures: tuple[TimeSignature, ...]) -> list[Opening]:
        """Ways to count the take from its start, the likeliest first."""
        return openings(self.onsets, self._evidence, signatures, self.costs)
