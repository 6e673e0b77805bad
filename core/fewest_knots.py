"""The fewest knots a broken line needs to pass through every window: the exact minimum, not a heuristic.

Given windows of time at ascending score positions: which broken line, its knots at those positions and free in
value, passes through all of them with the fewest links? Level by level the search keeps *all* the values a
knot can take at each position after so many links. They are a union of intervals, for the straight lines
through a run of windows are a convex polygon in the plane of (value, slope), and what they reach at a position
is its shadow. The first level to reach the last position is the minimum.

It is the minimum-link path of computational geometry (H. Imai and M. Iri, "An optimal algorithm for approximating
a piecewise linear function", J. Information Processing 9, 1986; from memory) with its turns kept to given places.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats

Ints = NDArray[np.int64]
Interval = tuple[float, float]
Line = tuple[float, float]
"""A straight line: its value at an origin, and its slope. A list of them holds the corners of a convex set."""

HAIR = 1e-10
"""Seconds: far above the rounding of the search, far below the narrowest window anyone asks for."""

_CROWD = 24
"""Sources of a level that `_search` looks from at first; playing with any freedom in it hardly has more."""


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """Where a broken line must pass.

    Parameters
    ----------
    at : (n,) float
        Score positions, ascending, at least two.
    target : (n,) float
        Value wished for at each.
    low, high : (n,) float
        Least and greatest value allowed at each. They are narrowed to what is of use: where a value leaves its
        neighbours no room above the least slope it is dropped, so that any value left can go on both ways.
    least_slope : float
        Slope below which no link may fall; at most that of the targets.
    """

    at: Floats
    target: Floats
    low: Floats
    high: Floats
    least_slope: float

    def __post_init__(self) -> None:
        climb = self.least_slope * (self.at - self.at[0])
        low = np.maximum.accumulate(self.low - climb) + climb
        high = np.minimum.accumulate((self.high - climb)[::-1])[::-1] + climb
        object.__setattr__(self, "low", low)
        object.__setattr__(self, "high", high)


def fewest_knots(windows: Windows) -> tuple[Ints, Floats]:
    """Positions (as indices) and values of the fewest knots that pass through every window.

    The first and the last position always carry a knot. Many answers may share the fewest knots: this one is
    chosen from the last link to the first, each link the one closest to its targets.

    Returns
    -------
    (k,) int, (k,) float
        Every window is kept to within `HAIR`.
    """
    knots, values = _trace(windows, _search(windows))
    return np.array(knots), np.array(values)


class _Reached:
    """Values that a knot can take at each position after at most so many links."""

    def __init__(self, windows: Windows) -> None:
        self.at: list[float] = windows.at.tolist()
        self.low: list[float] = windows.low.tolist()
        self.high: list[float] = windows.high.tolist()
        self.least_slope = windows.least_slope
        self.end = len(self.at) - 1
        self.level = 0
        self.left_out = False
        self.found: list[list[tuple[int, list[Interval]]]] = [[] for _ in self.at]
        """For each position the levels that widened its values, with all the values it then had."""
        self.widened = {0: [(self.low[0], self.high[0])]}
        """What the level being filled has widened."""
        self.found[0].append((0, self.widened[0]))

    def values(self, level: int, position: int) -> list[Interval]:
        """Values at a position after at most `level` links."""
        return next((values for since, values in reversed(self.found[position]) if since <= level), [])

    def next_level(self) -> dict[int, list[Interval]]:
        """Go on to the next level, returning what the last one widened."""
        widened, self.widened = self.widened, {}
        self.level += 1
        return widened

    def full(self, position: int) -> bool:
        """Whether every value of the window is reached, so that there is no more to gain."""
        if not self.found[position]:
            return False
        low, high = self.found[position][-1][1][0]
        return low <= self.low[position] + HAIR / 10 and high >= self.high[position] - HAIR / 10

    def add(self, position: int, low: float, high: float) -> None:
        """Join an interval to the values of the level being filled."""
        before = self.values(self.level, position)
        if any(a <= low and high <= b for a, b in before):
            return
        joined = [(a, b) for a, b in before if b < low or high < a]
        touched = [(a, b) for a, b in before if not (b < low or high < a)]
        joined.append((min([low, *(a for a, _ in touched)]), max([high, *(b for _, b in touched)])))
        joined.sort()
        if position in self.widened:
            self.found[position].pop()
        self.found[position].append((self.level, joined))
        self.widened[position] = joined


def _search(windows: Windows) -> _Reached:
    """Find the first level that reaches the last position.

    On very even playing a link can span hundreds of positions, and every pair of them would have to be looked at.
    There a search from a few of them comes first; where the bound from below does not already show that
    its answer is the minimum, a whole search looks for a better one, and the bound keeps it narrow.
    """
    to_go = _fewest_to_go(_Reached(windows))
    answer = _fill(_Reached(windows), to_go, budget=len(to_go), crowd=_CROWD)
    if answer.left_out and answer.level > to_go[0]:
        better = _fill(_Reached(windows), to_go, budget=answer.level - 1, crowd=len(to_go))
        return better if better.found[-1] else answer
    return answer


def _fewest_to_go(reached: _Reached) -> list[int]:
    """Links from each position to the last if the line might jump at its knots; one that may not has no fewer."""
    to_go = [0] * (reached.end + 1)
    knot = reached.end
    while knot > 0:
        first, origin = knot - 1, reached.at[knot]
        lines = _lines_over(reached, first, origin)
        while first > 0:
            lines = _through(
                lines, reached.at[first - 1] - origin, reached.low[first - 1], reached.high[first - 1]
            )
            if not lines:
                break
            first -= 1
        to_go[first:knot] = [to_go[knot] + 1] * (knot - first)
        knot = first
    return to_go


def _fill(reached: _Reached, to_go: list[int], *, budget: int, crowd: int) -> _Reached:
    """Fill level after level until one reaches the last position, or none within the budget of links can."""
    opened = 1
    while not reached.found[-1] and reached.widened and reached.level < budget:
        sources = reached.next_level()
        while opened < reached.end and to_go[opened] > budget - reached.level:
            opened += 1
        for source, intervals in sources.items():
            if opened <= source + 1 <= reached.end:
                climb = reached.least_slope * (reached.at[source + 1] - reached.at[source])
                low = max(reached.low[source + 1], intervals[0][0] + climb)
                reached.add(source + 1, low, reached.high[source + 1])
        while opened < reached.end and reached.full(opened):
            opened += 1
        _add_long_links(reached, sources, opened, crowd)
    return reached


def _add_long_links(reached: _Reached, sources: dict[int, list[Interval]], opened: int, crowd: int) -> None:
    """Add what links over two positions and more reach; before the position `opened` nothing is left to gain.

    Sources are taken from the last to the first, so that all that look past `opened` share the lines from there
    back to them, and once no line is left none can come from further back. Of more sources than the crowd, every
    second, third, ... is taken.
    """
    every = -(-len(sources) // crowd)
    reached.left_out |= every > 1
    lines: list[Line] = []
    for source in range(max(*sources, opened - 2), min(sources) - 1, -1):
        first = max(source + 2, opened)
        if first > reached.end:
            continue
        origin = reached.at[first]
        if first == source + 2:
            lines = _lines_over(reached, source + 1, origin)
        lines = _through(lines, reached.at[source] - origin, reached.low[source], reached.high[source])
        if not lines and source + 2 <= opened:
            return
        for low, high in sources.get(source, ()) if source % every == 0 else ():
            seen = _through(lines, reached.at[source] - origin, low, high)
            for target in range(first, reached.end + 1):
                x = reached.at[target] - origin
                seen = _through(seen, x, reached.low[target], reached.high[target])
                if not seen:
                    break
                if not reached.full(target):
                    heights = [value + slope * x for value, slope in seen]
                    reached.add(target, min(heights), max(heights))


def _lines_over(reached: _Reached, start: int, origin: float) -> list[Line]:
    """Lines through the windows of a position and the next that are steep enough."""
    a, b = reached.at[start], reached.at[start + 1]
    lines = []
    for from_side, to_side in (
        (reached.low, reached.low),
        (reached.low, reached.high),
        (reached.high, reached.high),
        (reached.high, reached.low),
    ):
        slope = (to_side[start + 1] - from_side[start]) / (b - a)
        lines.append((to_side[start + 1] + slope * (origin - b), slope))
    return _cut(lines, [slope - reached.least_slope for _, slope in lines])


def _through(lines: list[Line], x: float, low: float, high: float) -> list[Line]:
    """Keep the lines of a convex set that pass between two values at x from the origin; perhaps none."""
    heights = [value + slope * x for value, slope in lines]
    if lines and min(heights) < low:
        lines = _cut(lines, [height - low for height in heights])
        heights = [value + slope * x for value, slope in lines]
    if lines and max(heights) > high:
        lines = _cut(lines, [high - height for height in heights])
    return lines


def _cut(lines: list[Line], margins: Iterable[float]) -> list[Line]:
    """Cut a convex polygon along a straight edge, keeping margins of 0 or more (Sutherland, Hodgman 1974)."""
    corners = list(zip(lines, margins, strict=True))
    kept = []
    before, margin_before = corners[-1]
    for line, margin in corners:
        if (margin < 0) != (margin_before < 0):
            share = margin_before / (margin_before - margin)
            kept.append((before[0] + share * (line[0] - before[0]), before[1] + share * (line[1] - before[1])))
        if margin >= 0:
            kept.append(line)
        before, margin_before = line, margin
    return kept


def _trace(windows: Windows, reached: _Reached) -> tuple[list[int], list[float]]:
    """Follow one answer back from the last position to the first."""
    target: list[float] = windows.target.tolist()
    level, position = reached.level, reached.end
    nearest = (min(max(target[-1], low), high) for low, high in reached.values(level, position))
    value = min(nearest, key=lambda candidate: abs(candidate - target[-1]))
    knots, values = [position], [value]
    while position > 0:
        level -= 1
        position, value = _link_back(reached, target, level, position, value)
        knots.append(position)
        values.append(value)
    return knots[::-1], values[::-1]


def _link_back(reached: _Reached, target: list[float], level: int, end: int, value: float) -> tuple[int, float]:
    """Choose where the link that ends at a knot starts, and at which value.

    Of all starts that `level` links reach, the one whose least-squares line through the knot has the least mean
    square. The windows are taken a hair wider, for rounding must not close the way the search has found.
    """
    steepest = np.inf
    flattest = reached.least_slope - HAIR / (reached.at[end] - reached.at[end - 1])
    square = product = lever = 0.0
    best = (np.inf, -1, np.nan)
    for start in range(end - 1, -1, -1):
        width, rise = reached.at[end] - reached.at[start], value - target[start]
        flattest = max(flattest, (value - reached.high[start] - HAIR) / width)
        steepest = min(steepest, (value - reached.low[start] + HAIR) / width)
        if flattest > steepest:
            break
        square, product, lever = square + rise * rise, product + rise * width, lever + width * width
        for low, high in reached.values(level, start):
            least, most = max(flattest, (value - high) / width), min(steepest, (value - low) / width)
            if least <= most:
                slope = min(max(product / lever, least), most)
                mean = (square - 2 * slope * product + slope * slope * lever) / (end - start)
                best = min(best, (mean, start, value - slope * width))
    assert best[1] >= 0, "the search has reached a knot that no link leads to"
    return best[1], best[2]
