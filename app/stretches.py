"""Which stretches of the take are heard: what is selected, a section, the bars that are doubtful."""

from __future__ import annotations

from app.moment import Moment
from core.grid import Beat

Stretch = tuple[float, float]
"""Seconds of take time."""


def bar_stretches(moment: Moment) -> list[Stretch]:
    """Every bar, from its line to the next; the last to the end of the take.

    Parameters
    ----------
    moment : Moment
        The state.

    Returns
    -------
    list of Stretch
        One for each bar line of the grid.
    """
    grid, take = moment.state.grid, moment.state.take
    if grid is None or take is None:
        return []
    times = [line.time for line in grid.bar_lines]
    return list(zip(times, [*times[1:], max(take.duration, *times[-1:])], strict=True))


def selected_stretch(moment: Moment) -> Stretch | None:
    """From the first selected bar line to the end of the last selected bar; None where none is selected."""
    chosen = {bar for bar, _ in moment.lines}
    return _all_of(moment, [line.bar in chosen for line in _lines(moment)])


def section_stretch(moment: Moment) -> Stretch | None:
    """The section that holds the selected bar; None where no section does."""
    document, first = moment.state.document, moment.section
    if document is None or first is None:
        return None
    later = [each.bar for each in document.sections if each.bar > first]
    end = min(later, default=None)
    return _all_of(moment, [first <= line.bar and (end is None or line.bar < end) for line in _lines(moment)])


def doubtful_stretches(moment: Moment) -> list[Stretch]:
    """Each bar that begins at a doubtful line, with the bar before it; what overlaps is one stretch."""
    found: list[Stretch] = []
    bars = bar_stretches(moment)
    for i, line in enumerate(_lines(moment)):
        if line.doubtful:
            start, end = bars[max(i - 1, 0)][0], bars[i][1]
            if found and start <= found[-1][1]:
                found[-1] = found[-1][0], end
            else:
                found.append((start, end))
    return found


def _lines(moment: Moment) -> tuple[Beat, ...]:
    return () if moment.state.grid is None else moment.state.grid.bar_lines


def _all_of(moment: Moment, wanted: list[bool]) -> Stretch | None:
    bars = [bar for bar, among in zip(bar_stretches(moment), wanted, strict=True) if among]
    return (bars[0][0], bars[-1][1]) if bars else None
