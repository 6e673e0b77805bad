"""From a document to the grid on screen: suggestions, even beats in free passages, extra beats in held bars."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
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

        To the tracker a free bar is one long bar in the metre of the music around it, a hesitation that says
        nothing of the tempo. A hold that needs no extra beats any more is left as it is.

        Raises
        ------
        PinError
            If the placed lines cannot be obeyed in this take.
        """
        grid = self._tracker(course_of(document).pulse).grid(document.pins, opening=document.opening)
        if document.free:
            grid = _laid_evenly(grid, document)
        for bar in document.holds:
            try:
                grid = with_hold(grid, bar)
            except InputError:
                continue
        return grid

    def _new_tracker(self, metre: Metre) -> Tracker:
        return Tracker(self.onsets, metre, tables=self.tables)


def _laid_evenly(grid: Grid, document: Document) -> Grid:
    """Give the free bars their own metre, with beats in proportion between their two lines."""
    beats = list(grid.beats)
    for bar in reversed(document.free):
        begin = bisect_left(beats, bar, key=_bar)
        end = bisect_left(beats, bar + 1, key=_bar)
        if begin == end or end == len(beats) or beats[begin].beat != 1:
            continue
        line, following = beats[begin], beats[end]
        signature = document.metre.at(bar)
        shares = np.array([float(start / signature.quarters) for start in signature.beat_quarters[1:]])
        times = line.time + shares * (following.time - line.time)
        beats[begin + 1 : end] = [Beat(float(time), bar, beat) for beat, time in enumerate(times, 2)]
    return Grid(document.metre, tuple(beats))


def _bar(beat: Beat) -> int:
    return beat.bar
