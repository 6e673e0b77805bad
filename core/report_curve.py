"""The tempo of a take as a picture in SVG: a step for each bar over the seconds of the take, sections behind.

Source of the elements: W3C, Scalable Vector Graphics 1.1. It holds no script and asks for nothing from elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from itertools import pairwise

import numpy as np

from core.grid import Grid
from core.section_looks import FILLS, PATTERNS
from core.section_rows import SectionRow

WIDTH, HEIGHT = 960, 240
_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 8, 22, 26

_DEFINED = (
    '<defs><pattern id="slanted" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M0 6 6 0" stroke="#20242a" stroke-opacity=".16"/></pattern>'
    '<pattern id="dotted" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect x="2" y="2" width="1.4" height="1.4" fill="#20242a" fill-opacity=".3"/></pattern>'
    '<pattern id="upright" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<path d="M2.5 0V5" stroke="#20242a" stroke-opacity=".14"/></pattern></defs>'
)


def tempo_picture(grid: Grid, rows: Sequence[SectionRow]) -> str:
    """Draw the tempo of every bar.

    Parameters
    ----------
    grid : Grid
        Two bar lines at least.
    rows : sequence of SectionRow
        Sections to be marked.
    """
    times, tempi = grid.bar_times, grid.bar_tempi
    # One held bar must not flatten the rest: the picture shows what nine in ten bars need, and some more.
    low, high = np.percentile(tempi, [5, 95]) * np.array([0.85, 1.15])
    low, high = max(low, tempi.min() * 0.97), min(high, tempi.max() * 1.03)

    def x(seconds: float) -> float:
        share = (seconds - times[0]) / (times[-1] - times[0])
        return round(float(_LEFT + share * (WIDTH - _LEFT - _RIGHT)), 1)

    def y(tempo: float) -> float:
        share = (min(max(tempo, low), high) - low) / (high - low)
        return round(float(HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM)), 1)

    parts = [_section(row, x) for row in rows]
    parts += [_level(tempo, y(tempo)) for tempo in _round_tempi(float(low), float(high))]
    parts += [_minute(seconds, x(seconds)) for seconds in _round_times(float(times[0]), float(times[-1]))]
    steps = [f"{x(begin)} {y(tempo)}H{x(end)}" for (begin, end), tempo in zip(pairwise(times), tempi, strict=True)]
    parts.append(f'<path d="M{"L".join(steps)}" fill="none" stroke="#8a3b12" stroke-width="1.6"/>')
    parts += [
        f'<circle cx="{x(line.time)}" cy="{HEIGHT - _BOTTOM}" r="2.4" fill="#a63f00"/>'
        for line in grid.bar_lines
        if line.placed
    ]
    words = f"Tempo of {len(tempi)} bars, {tempi.min():.0f} to {tempi.max():.0f} quarters a minute"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{words}">{_DEFINED}{"".join(parts)}</svg>'
    )


def _section(row: SectionRow, x: Callable[[float], float]) -> str:
    left, right = x(row.start), x(row.start + row.length)
    pattern = PATTERNS[row.look % len(PATTERNS)]
    box = f'x="{left}" y="{_TOP}" width="{right - left:.1f}" height="{HEIGHT - _TOP - _BOTTOM}"'
    over = f'<rect {box} fill="url(#{pattern})"/>' if pattern != "plain" else ""
    return (
        f'<rect {box} fill="{FILLS[row.look % len(FILLS)]}"/>{over}'
        f'<text x="{left + 3}" y="{_TOP - 7}">{escape(_short(row.name, right - left))}</text>'
    )


def _short(name: str, room: float) -> str:
    letters = max(int(room / 7), 1)
    return name if len(name) <= letters else name[: max(letters - 1, 1)] + "…" * (letters > 1)


def _level(tempo: float, at: float) -> str:
    return (
        f'<path d="M{_LEFT} {at}H{WIDTH - _RIGHT}" stroke="#cfcabd"/>'
        f'<text x="{_LEFT - 6}" y="{at + 4}" text-anchor="end">{tempo:g}</text>'
    )


def _minute(seconds: float, at: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f'<text x="{at}" y="{HEIGHT - 8}" text-anchor="middle">{minutes}:{rest:02d}</text>'


def _round_tempi(low: float, high: float) -> list[float]:
    step = next((step for step in (1, 2, 5, 10, 20, 50, 100) if (high - low) / step <= 6), 200)
    return [float(tempo) for tempo in range(int(-(-low // step)) * step, int(high) + 1, step)]


def _round_times(begin: float, end: float) -> list[float]:
    step = next((step for step in (5, 10, 15, 30, 60, 120, 300, 600) if (end - begin) / step <= 12), 1800)
    return [float(time) for time in range(int(-(-begin // step)) * step, int(end) + 1, step)]
