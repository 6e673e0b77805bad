"""Fit what weighs the places of the next bar line; writes ``core/chooser_SOURCE.npz``.

    python -m tests.bench.fit_chooser CORPUS [--audio DIR [--cache DIR]] [--jobs N]

Each bar line of a performance from the third on is one choice: all bar lines before it are given as a musician
would have placed them, and every place within the tolerance of the true one is right. Each take counts once as it
is and once played more freely, with hesitations put in, which the corpus has few of. Six more are fitted for the
benches, each without the takes of one fold (`tests.bench.held_out`), on evidence of networks that have not seen
the take either; what these choose wrongly on the takes left out is printed.
Exit status: 0 fitted, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.chooser import FURTHEST, Chooser
from core.errors import BarwrightError
from core.next_bar import searched_bar
from core.next_line import LINES, Past, features, places
from core.onsets import Onsets, Source
from core.onward import LENGTHS
from core.pace import lengths_at, levels_after
from core.tables import Tables
from core.way import Mark
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.held_out import HERE, folds, held_out
from tests.bench.listen import listen
from tests.bench.musician import place

TOLERANCE = 0.050
HIDDEN, ROUNDS, BATCH = 32, 30, 128
RATE_OF_LEARNING, DECAY, DROPPED = 3e-3, 1e-2, 0.2
HESITANT = 0.04
"""Share of the bar lines before which a hesitation is put."""

MOST_OF_A_TAKE = 150
"""Takes with more bars than this do not weigh more."""

Floats32 = NDArray[np.float32]
Choice = tuple[Floats32, NDArray[np.bool_]]
"""Features of each place (places, features), and which places are right."""

Both = Callable[..., tuple[list[Choice], list[Choice]]]


def both(performance: Performance, *, audio: Path | None, cache: Path | None) -> tuple[list[Choice], list[Choice]]:
    """Choices of one take as it is, and played more freely."""
    onsets = listen(performance, audio=audio, cache=cache)
    seed = zlib.crc32(performance.name.encode())
    warped, bars = freer(onsets, performance.bars, np.random.default_rng(seed))
    return choices(performance, onsets), choices(replace(performance, bars=bars), warped)


def freer(onsets: Onsets, bars: Floats, random: np.random.Generator) -> tuple[Onsets, Floats]:
    """A take with its tempo wandering further, and hesitations before and on some bar lines."""
    wander, spread = np.zeros(len(bars) + 1), random.uniform(0.0, 0.1)
    for bar in range(1, len(wander)):
        wander[bar] = 0.8 * wander[bar - 1] + spread * random.standard_normal()
    edges: list[float] = [0.0]
    speeds: list[float] = []
    for bar, line in enumerate(bars.tolist()):
        pace = float(np.exp(wander[bar]))
        length = line - float(bars[bar - 1]) if bar else 0.0
        at = int(np.searchsorted(onsets.time, line - 0.03))
        silent = max(float(onsets.time[at - 1]) + 0.04, edges[-1]) if at else edges[-1]
        if bar and random.random() < HESITANT and line - silent > 0.05:
            held = length * random.uniform(0.3, 2.0)
            edges += [silent, line]
            speeds += [pace, pace + held / (line - silent)]
        elif line > edges[-1]:
            edges.append(line)
            speeds.append(pace)
    edges.append(max(onsets.duration, edges[-1]) + 1.0)
    speeds.append(1.0)
    warped = np.concatenate([[0.0], np.cumsum(np.diff(edges) * speeds)])

    def moved(time: Floats) -> Floats:
        return np.interp(time, edges, warped)

    times = moved(onsets.time)
    lengths = moved(onsets.time + onsets.length) - times
    duration = float(moved(np.array([onsets.duration]))[0])
    return replace(onsets, duration=duration, time=times, length=lengths), moved(bars)


def choices(performance: Performance, onsets: Onsets) -> list[Choice]:
    """All choices of one take."""
    tables = Tables(onsets, networks=held_out(performance.name, onsets.source))
    metre, bars = performance.metre, performance.bars
    lines = [place(float(bar), onsets.time) for bar in bars]
    positions = [metre.quarter_of(number) for number in range(1, len(bars) + 1)]
    found: list[Choice] = []
    for k in range(1, len(bars) - 1):
        recent = lines[max(0, k + 1 - LINES) : k + 1]
        if min(np.diff(recent)) <= 0:
            continue
        marks = [Mark(position, line) for position, line in zip(positions[: k + 1], lines, strict=False)]
        lengths = lengths_at(marks[-LENGTHS - 1 :], positions[max(0, k - LENGTHS) : k + 1])
        level = levels_after(lengths_at(marks, positions[: k + 1]))[-1]
        past = Past(tuple(recent), tuple(lengths), level, metre.at(k), metre.at(k + 1), metre.at(k + 2))
        reading = tables.reading(past)
        _, searched = searched_bar(reading.own, past)
        if searched is None:
            continue
        here = places(onsets, past, searched)
        right = np.abs(here.time - bars[k + 1]) <= TOLERANCE
        if right.any():
            found.append((features(reading, past, here, searched).astype(np.float32), right))
    return found


@dataclass(frozen=True, slots=True)
class Examples:
    """Choices one after the other: rows of features, right ones, where each choice starts, and its weight."""

    rows: Floats32
    right: Floats32
    starts: NDArray[np.int64]
    weight: Floats32

    @classmethod
    def of(cls, takes: Sequence[Sequence[Choice]]) -> Examples:
        """Put the choices of some takes together."""
        every = [choice for take in takes for choice in take]
        sizes = [len(right) for _, right in every]
        weights = [min(1.0, MOST_OF_A_TAKE / len(take)) for take in takes for _ in take]
        return cls(
            np.concatenate([rows for rows, _ in every]),
            np.concatenate([right for _, right in every]).astype(np.float32),
            np.cumsum([0, *sizes]),
            np.array(weights, dtype=np.float32),
        )


def fit(examples: Examples, *, seed: int = 0) -> Chooser:
    """Adam with decoupled decay (Loshchilov and Hutter 2019) on the log probability of what is right."""
    random = np.random.default_rng(seed)
    mean, scale = examples.rows.mean(axis=0), examples.rows.std(axis=0) + 1e-3
    rows = np.clip((examples.rows - mean) / scale, -FURTHEST, FURTHEST)
    count = rows.shape[1]
    weights: dict[str, Floats32] = {
        "direct": np.zeros(count, np.float32),
        "entry": (random.standard_normal((count, HIDDEN)) / count**0.5).astype(np.float32),
        "entry_bias": np.zeros(HIDDEN, np.float32),
        "out": (random.standard_normal(HIDDEN) / HIDDEN**0.5).astype(np.float32),
    }
    first = {name: np.zeros_like(value) for name, value in weights.items()}
    second = {name: np.zeros_like(value) for name, value in weights.items()}
    choices_there = len(examples.starts) - 1
    steps, step = ROUNDS * (choices_there // BATCH), 0
    for _ in range(ROUNDS):
        order = random.permutation(choices_there)
        for begin in range(0, choices_there - BATCH + 1, BATCH):
            slopes = _slopes(weights, rows, examples, order[begin : begin + BATCH], random)
            step += 1
            rate = RATE_OF_LEARNING * min(1.0, step / (0.3 * steps), 1.43 * (1 - step / (steps + 1)))
            for name, slope in slopes.items():
                first[name] = 0.9 * first[name] + 0.1 * slope
                second[name] = 0.999 * second[name] + 0.001 * slope**2
                ahead = first[name] / (1 - 0.9**step)
                size = np.sqrt(second[name] / (1 - 0.999**step)) + 1e-8
                weights[name] = weights[name] * (1 - rate * DECAY) - rate * ahead / size
    return Chooser(mean=mean, scale=scale, **{name: value.astype(np.float32) for name, value in weights.items()})


def _slopes(
    weights: dict[str, Floats32],
    rows: Floats32,
    examples: Examples,
    batch: NDArray[np.int64],
    random: np.random.Generator,
) -> dict[str, Floats32]:
    starts, ends = examples.starts[batch], examples.starts[batch + 1]
    sizes = ends - starts
    begins = np.cumsum(sizes) - sizes
    index = np.arange(int(sizes.sum())) + np.repeat(starts - begins, sizes)
    x, right = rows[index], examples.right[index]
    inside = x @ weights["entry"] + weights["entry_bias"]
    bent = np.where(inside > 0, inside, np.expm1(np.minimum(inside, 0)))
    kept = (random.random(bent.shape) >= DROPPED) / np.float32(1 - DROPPED)
    score = x @ weights["direct"] + (bent * kept) @ weights["out"]
    score = score - np.repeat(np.maximum.reduceat(score, begins), sizes)
    share = np.exp(score)
    share = share / np.repeat(np.add.reduceat(share, begins), sizes)
    of_right = share * right
    of_right = of_right / np.repeat(np.maximum(np.add.reduceat(of_right, begins), 1e-12), sizes)
    weight = examples.weight[batch] / examples.weight[batch].sum()
    slope = ((share - of_right) * np.repeat(weight, sizes)).astype(np.float32)
    to_bent = slope[:, None] * weights["out"] * kept
    to_inside = (to_bent * np.where(inside > 0, 1.0, bent + 1.0)).astype(np.float32)
    return {
        "direct": x.T @ slope,
        "entry": x.T @ to_inside,
        "entry_bias": to_inside.sum(axis=0),
        "out": ((bent * kept).T @ slope).astype(np.float32),
    }


def wrong(chooser: Chooser, take: Sequence[Choice]) -> float:
    """Share of the choices of a take that are wrong."""
    return 1 - float(np.mean([right[chooser(rows).argmax()] for rows, right in take]))


def stored(choosers: Sequence[Chooser], *, prefixed: bool) -> dict[str, Floats32]:
    """Weights by the names they are kept under."""
    return {
        (f"{i}.{name}" if prefixed else name): getattr(chooser, name)
        for i, chooser in enumerate(choosers)
        for name in Chooser.__slots__
    }


def run(argv: list[str] | None, name: str, purpose: str, both: Both) -> int:
    """Fit what weighs places, write it under a name, and print how the ones for the benches do.

    Parameters
    ----------
    argv : list of str or None
        As on the command line.
    name : str
        Of the files in `core`, before the source.
    purpose : str
        What is fitted.
    both : callable
        Choices of a take as it is, and played more freely.
    """
    parser = argparse.ArgumentParser(prog=f"fit_{name}", description=purpose)
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument("--audio", type=Path, metavar="DIR", help="use the recordings in DIR")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep the onsets of recordings in DIR")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="processes")
    args = parser.parse_args(argv)
    try:
        performances = [p for p in read_corpus(args.corpus) if p.name in folds()]
        with ProcessPoolExecutor(args.jobs) as pool:
            takes: list[tuple[list[Choice], list[Choice]]] = list(
                pool.map(partial(both, audio=args.audio, cache=args.cache), performances)
            )
    except BarwrightError as error:
        print(f"fit_{name}: {error}", file=sys.stderr)
        return 2
    source: Source = "midi" if args.audio is None else "audio"
    fold_of = [folds()[performance.name] for performance in performances]
    without: list[Chooser] = []
    amiss: list[float] = []
    for fold in range(max(fold_of) + 1):
        dealt = list(zip(takes, fold_of, strict=True))
        without.append(fit(Examples.of([take for pair, of in dealt if of != fold for take in pair if take])))
        amiss += [wrong(without[-1], as_is) for (as_is, _), of in dealt if of == fold and as_is]
    print(f"Wrong on takes left out: median {np.median(amiss):.3f}, mean {np.mean(amiss):.3f}")
    shipped = fit(Examples.of([take for pair in takes for take in pair if take]))
    np.savez_compressed(HERE / f"held_out_{name}_{source}.npz", **stored(without, prefixed=True))
    core = Path(__file__).parents[2] / "core"
    np.savez_compressed(core / f"{name}_{source}.npz", **stored([shipped], prefixed=False))
    return 0


def main(argv: list[str] | None = None) -> int:
    """Fit what weighs places of the next bar line."""
    return run(argv, "chooser", "Fit what weighs places of the next bar line.", both)


if __name__ == "__main__":
    sys.exit(main())
