"""Every bar as a row, stretched from bar line to bar line: where its beats and onsets fall, and how far off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.grid import Grid
from core.onsets import Onsets

Ints = NDArray[np.int64]

REACH = 0.25
"""An onset belongs to a beat if it is no further away than this share of the beat."""

NO_LENGTH = 2.0
"""Seconds of the last row where no bar before it tells how long a bar is."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BarRows:
    """Rows of bars in order; every array is read-only.

    A row runs from phase 0 at its bar line to phase 1 at the next one. The first bar of a grid may begin inside
    the bar (a pickup): its row begins where its bar line would lie at the pace of its beats. The last bar line has
    a row too, for the music after it: as long as the bar before, and without a closing line.

    Parameters
    ----------
    bar : (rows,) int
        Bar number.
    begin, end : (rows,) float
        Seconds of take time at phase 0 and phase 1.
    line : (lines,) int
        Index into the grid's beats; each row's own beats, then the bar line that closes it.
    line_phase : (lines,) float
        Where that beat lies in its row.
    score_phase : (lines,) float
        Where it would lie if the bar were played evenly.
    first_line : (rows + 1,) int
        Row r holds the lines from ``first_line[r]`` up to but not including ``first_line[r + 1]``.
    onset : (marks,) int
        Index into the onsets; each row's own and those in its margins.
    onset_phase : (marks,) float
        Where that onset lies in its row; below 0 or above 1 in a margin.
    first_onset : (rows + 1,) int
        As `first_line`, for the onsets.
    deviation : (rows,) float
        How much later (positive) or earlier a bar's onsets are than beats played evenly from its bar line to the
        next, seconds; the median over its beats, not a number where none has an onset.
    spread : (rows,) float
        Median absolute deviation from that median, seconds; not a number with fewer than two beats that have one.
    silent : (rows,) int
        Beats of the bar that have no onset near them.
    """

    bar: Ints
    begin: Floats
    end: Floats
    line: Ints
    line_phase: Floats
    score_phase: Floats
    first_line: Ints
    onset: Ints
    onset_phase: Floats
    first_onset: Ints
    deviation: Floats
    spread: Floats
    silent: Ints

    def __post_init__(self) -> None:
        for item in fields(self):
            getattr(self, item.name).setflags(write=False)

    def __len__(self) -> int:
        return len(self.bar)

    def row_of(self, bar: int) -> int | None:
        """Row of a bar, None where there is none."""
        row = bar - int(self.bar[0]) if len(self) else -1
        return row if 0 <= row < len(self) else None


def bar_rows(
    grid: Grid, onsets: Onsets, *, margin: float = 0.0, stretch: Mapping[int, tuple[float, float]] | None = None
) -> BarRows:
    """Lay out the bars of a grid as rows.

    Parameters
    ----------
    margin : float
        How much of the music before and after a bar its row shows too, as a share of the bar.
    stretch : mapping of int to (float, float), optional
        Bars that are stretched between other moments than their own bar lines, with the seconds at phase 0 and 1;
        while a line is dragged, the bar it is dragged in keeps still.
    """
    times = grid.beat_times
    bar = np.array([beat.bar for beat in grid.beats], dtype=np.int64)
    starts = np.flatnonzero(np.diff(bar, prepend=bar[:1] - 1))
    rows = len(starts)
    score = _score_phases(grid, bar)

    begin, end = _bounds(times, score, starts, grid)
    row_of_beat = bar - bar[:1]
    even = begin[row_of_beat] + score * (end - begin)[row_of_beat]
    deviation, spread, silent = _deviations(even, onsets.time, row_of_beat, rows)
    kept = stretch or {}
    for row, number in enumerate(bar[starts].tolist()):
        if number in kept:
            begin[row], end[row] = kept[number]
    length = end - begin

    # Each bar line but the first stands twice: it closes a row, and then it opens one.
    line = np.sort(np.concatenate([np.arange(len(times)), starts[1:]]))
    first_line = np.append(starts + np.arange(rows), len(line)) if rows else np.zeros(1, dtype=np.int64)
    row_of_line = np.repeat(np.arange(rows), np.diff(first_line))
    score_phase = score[line]
    score_phase[first_line[1:-1] - 1] = 1.0

    first = np.searchsorted(onsets.time, begin - margin * length)
    count = np.searchsorted(onsets.time, end + margin * length, side="right") - first
    first_onset = np.append(0, np.cumsum(count))
    row_of_onset = np.repeat(np.arange(rows), count)
    onset = np.arange(first_onset[-1]) - np.repeat(first_onset[:-1] - first, count)
    return BarRows(
        bar=bar[starts],
        begin=begin,
        end=end,
        line=line,
        line_phase=(times[line] - begin[row_of_line]) / length[row_of_line],
        score_phase=score_phase,
        first_line=first_line,
        onset=onset,
        onset_phase=(onsets.time[onset] - begin[row_of_onset]) / length[row_of_onset],
        first_onset=first_onset,
        deviation=deviation,
        spread=spread,
        silent=silent,
    )


def _score_phases(grid: Grid, bar: Ints) -> Floats:
    changes = grid.metre.changes
    shares = np.zeros((len(changes), max(signature.beats for _, signature in changes)))
    for i, (_, signature) in enumerate(changes):
        shares[i, : signature.beats] = [float(start / signature.quarters) for start in signature.beat_quarters]
    # The first signature also holds before its bar.
    which = np.maximum(np.searchsorted([first for first, _ in changes], bar, side="right") - 1, 0)
    beat = np.array([beat.beat for beat in grid.beats], dtype=np.int64)
    phases: Floats = shares[which, beat - 1]
    return phases


def _bounds(times: Floats, score: Floats, starts: Ints, grid: Grid) -> tuple[Floats, Floats]:
    begin = times[starts]
    end = np.append(begin[1:], np.nan) if len(starts) else begin.copy()
    if len(starts) > 1:
        begin[0] = end[0] - (end[0] - begin[0]) / (1.0 - score[0])
        before, last = (grid.metre.at(grid.beats[i].bar).quarters for i in starts[-2:].tolist())
        end[-1] = begin[-1] + (end[-2] - begin[-2]) * float(last / before)
    elif len(starts):
        end[0] = begin[0] + NO_LENGTH
    return begin, end


def _deviations(times: Floats, onsets: Floats, row: Ints, rows: int) -> tuple[Floats, Floats, Ints]:
    silent = np.bincount(row, minlength=rows).astype(np.int64)
    nothing = np.full(rows, np.nan)
    if len(times) < 2 or len(onsets) == 0:
        return nothing, nothing.copy(), silent
    length = np.diff(times)
    length = np.append(length, length[-1])
    after = np.clip(np.searchsorted(onsets, times), 1, max(len(onsets) - 1, 1))
    later, earlier = onsets[np.minimum(after, len(onsets) - 1)] - times, onsets[after - 1] - times
    off = np.where(np.abs(later) < np.abs(earlier), later, earlier)
    heard = np.abs(off) <= REACH * length
    off, row = off[heard], row[heard]
    count = np.bincount(row, minlength=rows)
    deviation = _medians(off, row, count)
    spread = _medians(np.abs(off - deviation[row]), row, count)
    spread[count < 2] = np.nan
    return deviation, spread, silent - count


def _medians(values: Floats, row: Ints, count: Ints) -> Floats:
    """Median of the values of each row, not a number where it has none."""
    order = np.lexsort((values, row))
    ranked = np.append(values[order], np.nan)
    first = np.cumsum(count) - count
    none = count == 0
    low = np.where(none, len(values), first + (count - 1) // 2)
    high = np.where(none, len(values), first + count // 2)
    return np.asarray(0.5 * (ranked[low] + ranked[high]), dtype=np.float64)


def attack_shares(onsets: Onsets) -> Floats:
    """How strong each onset is among those of its take, from 0 (as the softest tenth) to 1, shape (n,)."""
    return _share(onsets.strength, 10, 90)


def low_onsets(onsets: Onsets) -> NDArray[np.bool_]:
    """Whether an onset has its lowest note in the lowest third of what is played, shape (n,)."""
    return _share(onsets.low, 5, 95) < 1 / 3


def _share(values: Floats, low: float, high: float) -> Floats:
    """Where each value lies between two percentiles, 0 to 1; 1 where all are alike."""
    bottom, top = np.percentile(values, (low, high)) if len(values) else (0.0, 0.0)
    if top <= bottom:
        return np.ones(len(values))
    share: Floats = np.clip((values - bottom) / (top - bottom), 0.0, 1.0)
    return share
