"""What a take says of its bars whatever the metre, worked out when first asked for and kept.

Everything here hangs on the onsets alone, so it outlives a change of metre and every placed line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from core.chooser import Chooser
from core.costs import Costs
from core.evidence import Evidence, Heard
from core.long_table import LongTable, Shelf
from core.metre import TimeSignature
from core.network import Network
from core.next_bar import NextBar, next_bar
from core.next_line import Past, Reading, Sums
from core.onsets import Onsets
from core.opening import Opening, openings
from core.pace import LEVEL
from core.pulse import pulse_of
from core.ranking import Judged, Line, judge
from core.search import BINS
from core.weights import chooser as fitted
from core.weights import networks as trained

MEMORY = 400e6
"""Bytes that the tables kept may take, about."""

FEWEST = 6
"""Tables there is room for however long the take."""

IN_PART = 4
"""Tables that take the room of one: of most of them only some blocks are ever read."""

MOST_JUDGED = 20_000
"""Verdicts on single bar lines, and next bars, that are kept."""


class Tables:
    """Evidence, tables and verdicts of one take, kept while there is room, the last used the longest.

    Parameters
    ----------
    onsets : Onsets
        What was heard, at least two onsets.
    networks : sequence of Network, optional
        Instead of those that come with the library.
    chooser : Chooser, optional
        Instead of the one that comes with the library.
    costs : Costs, optional
        Weights of the search.

    Attributes
    ----------
    room : int
        Whole tables that can be kept at a time.
    """

    def __init__(
        self,
        onsets: Onsets,
        *,
        networks: Sequence[Network] | None = None,
        chooser: Chooser | None = None,
        costs: Costs | None = None,
    ) -> None:
        self.onsets, self.costs = onsets, costs or Costs()
        self._chooser = chooser
        self._sums = Sums.of(onsets)
        self._evidence = Evidence(onsets, networks if networks is not None else trained(onsets.source))
        # A bar has some ten units, a state takes seven bytes, and the blocks of a table overlap.
        whole = 120 * BINS * max(len(onsets), 1)
        self.room = max(FEWEST, int(MEMORY / whole))
        self._shelf = Shelf(self.room * whole)
        self.heard = lru_cache(maxsize=IN_PART * self.room)(self._heard)
        self.table = lru_cache(maxsize=IN_PART * self.room)(self._table)
        self.judged = lru_cache(maxsize=MOST_JUDGED)(self._judged)
        self.next_bar = lru_cache(maxsize=MOST_JUDGED)(self._next_bar)
        self._openings: dict[tuple[TimeSignature, ...], list[Opening]] = {}

    def _heard(self, signature: TimeSignature, level: int) -> Heard:
        """Evidence at each onset when the bars of a signature are supposed to go at a level of tempo."""
        return self._evidence.supposing(signature, float(np.exp(level * LEVEL)))

    def _table(self, signature: TimeSignature, level: int, way: int) -> LongTable:
        """Table of the search onwards or, with `way` -1, backwards in time."""
        centre = level * LEVEL
        pulse = pulse_of(signature, float(np.exp(centre)))
        heard, time = self.heard(signature, level).evidence, self.onsets.time
        if way < 0:
            pulse, heard, time = pulse.mirrored(), heard[::-1], -time[::-1]
        return LongTable(time, pulse, centre, self.costs, heard, self._shelf)

    def _judged(self, signature: TimeSignature, level: int, line: Line) -> Judged:
        """How sure a suggested bar line is, and where else it could be."""
        return judge(self.table(signature, level, 1), line)

    def reading(self, past: Past) -> Reading:
        """The take as it is read when its bars are counted as the past says."""
        own, after = (self.table(signature, past.level, 1) for signature in (past.own, past.after))
        return Reading(self.onsets, self._sums, self.heard(past.own, past.level), own, after)

    def _next_bar(self, past: Past) -> NextBar | None:
        """The bar after the last bar line."""
        return next_bar(self.reading(past), self._chooser or fitted(self.onsets.source), past)

    def openings(
        self, signatures: tuple[TimeSignature, ...], *, progress: Callable[[float], None] | None = None
    ) -> list[Opening]:
        """Ways to count the take from its start, the likeliest first.

        Parameters
        ----------
        progress : callable, optional
            Told the share that is done, 0 to 1.
        """
        if signatures not in self._openings:
            self._openings[signatures] = openings(
                self.onsets, self._evidence, signatures, self.costs, progress=progress
            )
        return self._openings[signatures]
