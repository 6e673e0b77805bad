"""Places that a bar line could have: onsets, and moments at which it is due and nothing begins."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.likeness import Ints
from core.onsets import Onsets

APART = 0.04
"""A place without an onset is looked at where no onset is this near, in seconds."""

SILENT = -6.0
"""Evidence for a place without an onset."""


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Places for a bar line.

    Parameters
    ----------
    time : (places,) float
        Seconds.
    node : (places,) int
        The onset there, or the next one where there is none.
    silent : (places,) bool
        Where there is none.
    """

    time: Floats
    node: Ints
    silent: NDArray[np.bool_]

    @classmethod
    def of(cls, time: Floats, node: Ints, moments: Iterable[float]) -> Places:
        """Some onsets, and those of some moments that no place is near yet.

        Parameters
        ----------
        time : (n,) float
            Seconds of all onsets.
        node : (m,) int
            Which of them could be the line.
        moments : iterable of float
            Seconds at which it is due.
        """
        at = time[node]
        silent: list[float] = []
        for moment in moments:
            if not (np.abs(np.append(at, silent) - moment) <= APART).any():
                silent.append(moment)
        nodes = np.append(node, np.clip(np.searchsorted(time, silent), 0, max(len(time) - 1, 0))).astype(np.int64)
        return cls(np.append(at, silent), nodes, np.arange(len(nodes)) >= len(node))


def gaps(onsets: Onsets, here: Places, length: float) -> list[Floats]:
    """Silence before and after each place, as a share of a length in seconds."""
    time = onsets.time
    before = here.time - time[np.maximum(here.node - 1, 0)]
    after = time[np.minimum(here.node + 1, len(time) - 1)] - here.time
    return [np.log(np.clip(gap, 0.02, 6.0) / length) for gap in (before, after)]


def above_neighbours(value: Floats, here: Places, due: float) -> Floats:
    """By how much a place has more of something than any other near it; a bar lasts `due` seconds."""
    near = np.abs(here.time[:, None] - here.time) < 0.3 * due
    np.fill_diagonal(near, False)
    return np.asarray(value - np.where(near, value, -8.0).max(axis=1))
