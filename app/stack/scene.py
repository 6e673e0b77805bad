"""What the bar stack paints: one frozen value, made from the state of the work."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from app.stack.layout import MARGIN, Layout, headings_of
from app.state import Place, State
from app.timeline.lines import Lines, lines_of
from core.bar_rows import BarRows, attack_shares, bar_rows, low_onsets
from core.checks import Floats
from core.grid import Grid
from core.onsets import Onsets


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """What is to be painted.

    Parameters
    ----------
    grid, rows, lines
        The bars; while a line is dragged, as they would be.
    layout : Layout
        Where they lie.
    onsets : Onsets
        What was heard.
    share : (onsets,) float
        How strong each onset is, 0 to 1.
    low : (onsets,) bool
        Whether it is a low one.
    sections : dict of int to int
        Bars at which sections begin, and the number of the section, from 0.
    selection : frozenset of (int, int)
        Selected lines.
    hover : (int, (int, int)) or None
        The line under the pointer, with the row it was found in.
    on_timeline : (float, float)
        Seconds that the timeline shows.
    pending : bool
        Whether newer suggestions are on their way.
    """

    grid: Grid
    rows: BarRows
    lines: Lines
    layout: Layout
    onsets: Onsets
    share: Floats
    low: NDArray[np.bool_]
    sections: dict[int, int]
    selection: frozenset[Place] = field(default=frozenset())
    hover: tuple[int, Place] | None = None
    on_timeline: tuple[float, float] = (0.0, 0.0)
    pending: bool = False


def stack_of(state: State, *, width: int, row_height: float) -> Stack | None:
    """Stack the bars of a state for a viewport of so many pixels; None while there are no bars."""
    if state.grid is None or state.onsets is None or not state.grid.beats:
        return None
    sections = () if state.document is None else state.document.sections
    rows = bar_rows(state.grid, state.onsets, margin=MARGIN)
    headings = headings_of(state.grid, rows, {section.bar: section.name for section in sections})
    return Stack(
        grid=state.grid,
        rows=rows,
        lines=lines_of(state.grid),
        layout=Layout.of(headings, width=width, row_height=row_height),
        onsets=state.onsets,
        share=attack_shares(state.onsets),
        low=low_onsets(state.onsets),
        sections={section.bar: i for i, section in enumerate(sections)},
    )
