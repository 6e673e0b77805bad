"""Where the sections of a document lie in a grid, and what of them is under the pointer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.span import Span
from app.timeline.lines import Lines
from app.timeline.picking import GRAB, Empty, SectionBlock, SectionEdge
from core.document import Section
from core.section_looks import looks_of


@dataclass(frozen=True, slots=True)
class Block:
    """A section from its first bar line to the next section, or to the end of the grid; seconds."""

    bar: int
    name: str
    start: float
    end: float
    look: int = 0


def blocks(sections: tuple[Section, ...], lines: Lines) -> tuple[Block, ...]:
    """Find the stretch of each section that begins within the grid."""
    found = [
        (section, look, lines.line((section.bar, 1)))
        for section, look in zip(sections, looks_of(sections), strict=True)
    ]
    there = [(section, look, line.time) for section, look, line in found if line is not None]
    ends = [start for *_, start in there[1:]] + ([float(lines.bar_time[-1])] if there else [])
    return tuple(
        Block(section.bar, section.name, start, end, look)
        for (section, look, start), end in zip(there, ends, strict=True)
        if end > start
    )


def pick_section(x: float, among: tuple[Block, ...], span: Span) -> SectionBlock | SectionEdge | Empty:
    """Find the section, or its edge, at a pixel from the left."""
    time = span.time_at(x)
    for block in among:
        if abs(span.x_of(block.start) - x) <= GRAB:
            return SectionEdge(block.bar, time)
    for block in among:
        if block.start <= time < block.end:
            return SectionBlock(block.bar, time)
    return Empty(time)


def bar_for_edge(time: float, bar: int, among: tuple[Block, ...], lines: Lines) -> int:
    """Find the bar nearest to a moment at which a section may begin, between those before and after it."""
    order = [block.bar for block in among]
    i = order.index(bar)
    low = order[i - 1] if i > 0 else -np.inf
    high = order[i + 1] if i + 1 < len(order) else int(lines.bar_number[-1])
    may = (lines.bar_number > low) & (lines.bar_number < high)
    if not may.any():
        return bar
    return int(lines.bar_number[may][np.argmin(np.abs(lines.bar_time[may] - time))])
