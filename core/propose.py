"""A first proposal for a take of which nothing is known: metre, tempo and first bar line."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from core.chooser import Chooser
from core.costs import Costs
from core.errors import TakeError
from core.metre import Metre, TimeSignature
from core.network import Network
from core.onsets import Onsets
from core.proposal import Proposal
from core.tables import Tables
from core.tracker import Tracker

METRES = tuple(TimeSignature.parse(text) for text in ("4/4", "3/4", "2/4", "6/8", "9/8", "12/8"))
"""Time signatures that are told apart: two, three or four beats, divided in two or in three."""


def propose(
    onsets: Onsets,
    *,
    tables: Tables | None = None,
    networks: Sequence[Network] | None = None,
    chooser: Chooser | None = None,
    costs: Costs | None = None,
    progress: Callable[[float], None] | None = None,
) -> Proposal:
    """Propose metre, tempo and bars for a take.

    Parameters
    ----------
    onsets : Onsets
        What was heard.
    tables : Tables, optional
        Of these onsets, to be shared with trackers of the same take.
    networks, chooser, costs : optional
        As for `Tables`, where none are given.
    progress : callable, optional
        Told the share of the metres that have been tried, 0 to 1; the bars come after them.

    Raises
    ------
    TakeError
        If there are fewer than four onsets.
    """
    if len(onsets) < 4:
        raise TakeError(
            f"The take has {len(onsets)} onsets, too few to hear a metre in: give it and the first bar lines."
        )
    tables = tables or Tables(onsets, networks=networks, chooser=chooser, costs=costs)
    ways = tables.openings(METRES, progress=progress)
    best = ways[0]
    metre = Metre.steady(best.signature)
    grid = Tracker(onsets, metre, tables=tables).grid(opening=best.quarter)
    beat = best.quarter + _beat_quarters(best.signature)
    return Proposal(
        metre,
        grid,
        metre_confidence=sum(way.share for way in ways if way.signature == best.signature),
        tempo_confidence=sum(
            way.share for way in ways if abs(way.quarter + _beat_quarters(way.signature) - beat) < 0.11
        ),
    )


def _beat_quarters(signature: TimeSignature) -> float:
    return math.log(float(signature.quarters) / signature.beats)
