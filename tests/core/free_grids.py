"""Grids of free playing for tests: made from chosen beat lengths, or drawn by hypothesis."""

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from core.checks import frozen
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from core.take import Message, MidiTake, Notes

FOUR = TimeSignature(4, 4)


def grid_of(
    metre: Metre,
    lengths: Iterable[float],
    *,
    start: float = 0.0,
    bar: int = 1,
    beat: int = 1,
    placed: frozenset[int] = frozenset(),
) -> Grid:
    """Lay beats of the given seconds one after the other; the grid ends at the last bar line they reach."""
    beats, time = [Beat(start, bar, beat, 0 in placed)], start
    for i, length in enumerate(lengths, 1):
        time += length
        beat += 1
        if beat > metre.at(bar).beats:
            bar, beat = bar + 1, 1
        beats.append(Beat(time, bar, beat, i in placed))
    while beats[-1].beat != 1:
        beats.pop()
    return Grid(metre, tuple(beats))


def rubato(count: int, *, length: float = 0.6, spread: float = 0.1, seed: int = 1) -> list[float]:
    """Beat lengths that wander about one, always the same for the same seed."""
    return list(length * np.exp(np.random.default_rng(seed).normal(0.0, spread, count)))


def midi_take(notes: Iterable[tuple[float, float, int]], messages: Iterable[Message] = ()) -> MidiTake:
    """Make a take of (start, end, pitch) notes at velocity 80 on channel 0."""
    rows = sorted(notes)
    columns = np.array(rows, dtype=float).reshape(-1, 3)
    same = np.zeros(len(rows), dtype=np.int64)
    return MidiTake(
        path=Path("take.mid"),
        duration=float(columns[:, 1].max(initial=0.0)),
        notes=Notes(
            start=frozen(columns[:, 0]),
            end=frozen(columns[:, 1]),
            pitch=columns[:, 2].astype(np.int64),
            velocity=same + 80,
            channel=same,
        ),
        messages=tuple(messages),
    )


signatures = st.one_of(
    st.builds(TimeSignature, st.integers(1, 13), st.sampled_from([1, 2, 4, 8, 16, 32, 64])),
    st.just(TimeSignature(7, 8, (2, 2, 3))),
)


@st.composite
def metres(draw: st.DrawFn) -> Metre:
    """Draw time signatures that change at some bars."""
    bars = sorted(draw(st.sets(st.integers(2, 9), max_size=3)))
    return Metre(tuple((bar, draw(signatures)) for bar in [1, *bars]))


@st.composite
def grids(draw: st.DrawFn) -> Grid:
    """Draw grids of 1 to 10 bars at 15 to 500 quarters a minute, at whole microseconds, perhaps with a pickup."""
    metre = draw(metres())
    first = draw(st.sampled_from([1, 0, -3]))
    beat = draw(st.integers(1, metre.at(first).beats))
    bars = draw(st.integers(1, 9))
    groups: list[Fraction] = []
    for bar in range(first, first + bars + 1):
        signature = metre.at(bar)
        groups += [Fraction(4 * group, signature.denominator) for group in signature.groups]
    groups = groups[beat - 1 :]
    tempi = draw(st.lists(st.floats(15, 500), min_size=len(groups), max_size=len(groups)))
    lengths = [round(60e6 * float(group) / tempo) for group, tempo in zip(groups, tempi, strict=True)]
    times = np.cumsum([draw(st.integers(0, 20_000_000)), *lengths]) / 1e6
    placed = draw(st.frozensets(st.integers(0, len(groups))))
    beats = []
    bar, at = first, beat
    for i, time in enumerate(times):
        beats.append(Beat(float(time), bar, at, i in placed))
        at += 1
        if at > metre.at(bar).beats:
            bar, at = bar + 1, 1
    while beats[-1].beat != 1:
        beats.pop()
    return Grid(metre, tuple(beats))
