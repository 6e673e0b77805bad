"""From a document to the grid on screen: suggestions, even beats in free passages, extra beats in held bars."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from core.document import Document
from core.errors import InputError
from core.grid import Beat, Grid
from core.hold import with_hold
from core.metre import Metre
from core.network import Network
from core.numbering import course_of
from core.onsets import Onsets
from core.passage_edits import UnmarkFree
from core.tables import Tables
from core.tracker import Tracker

MOST_TRACKERS = 4
"""Metres whose trackers are kept: the present one, and those that undo and redo lead back to."""


class Suggester:
    """Answers documents of one take with grids.

    What the onsets alone decide is worked out once, whatever the metre. The answer depends on the document alone.

    Parameters
    ----------
    onsets : Onsets
        What was heard.
    networks : sequence of Network, optional
        Instead of those that come with the library.
    """

    def __init__(self, onsets: Onsets, *, networks: Sequence[Network] | None = None) -> None:
        self.onsets = onsets
        self.tables = Tables(onsets, networks=networks)
        self._tracker = lru_cache(maxsize=MOST_TRACKERS)(self._new_tracker)

    def grid(self, document: Document) -> Grid:
        """Suggest all bars that follow from a document.

        A hold that needs no extra beats any more is left as it is.

        Raises
        ------
        PinError
            If the placed lines cannot be obeyed in this take.
        """
        lengths = {bar: _bars_of_its_length(document, bar) for bar in document.free}
        counted = document
        for bar in reversed(document.free):
            counted = UnmarkFree(bar, lengths[bar]).apply(counted)
        grid = self._tracker(counted.metre).grid(counted.pins, opening=document.opening)
        if lengths:
            grid = _laid_evenly(grid, document, lengths)
        for bar in document.holds:
            try:
                grid = with_hold(grid, bar)
            except InputError:
                continue
        return grid

    def _new_tracker(self, metre: Metre) -> Tracker:
        return Tracker(self.onsets, metre, tables=self.tables)


def _bars_of_its_length(document: Document, bar: int) -> int:
    """How many bars of the music around a free bar are nearest to its length.

    As so many it is counted by the tracker, whose tables for one long bar would be slow to make and of no use.
    """
    return max(1, round(document.metre.at(bar).quarters / course_of(document).pulse.at(bar).quarters))


def _laid_evenly(grid: Grid, document: Document, lengths: dict[int, int]) -> Grid:
    """Make one bar again of each free bar, with beats in proportion between its two lines."""
    beats = list(grid.beats)
    for bar, bars in lengths.items():
        begin = bisect_left(beats, bar, key=_bar)
        end = bisect_left(beats, bar + bars, key=_bar)
        line, following = beats[begin], beats[end]
        signature = document.metre.at(bar)
        shares = np.array([float(start / signature.quarters) for start in signature.beat_quarters[1:]])
        times = line.time + shares * (following.time - line.time)
        even = [Beat(float(time), bar, beat) for beat, time in enumerate(times, 2)]
        after = [replace(beat, bar=beat.bar - bars + 1) for beat in beats[end:]]
        beats = [*beats[: begin + 1], *even, *after]
    return Grid(document.metre, tuple(beats))


def _bar(beat: Beat) -> int:
    return beat.bar
