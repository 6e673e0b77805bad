"""Fit the weights by which missed taps are told from places where the music dwells.

    python -m tests.bench.fit_missed CORPUS [--every K]

Steps between simulated taps (`tests.bench.tapper`) that are longer than the tempo around them are sorted by
whether a tap was missed there; a logistic regression tells them apart. Prints the weights of every second take,
how often they are wrong on the others, and the weights of all.
"""

from __future__ import annotations

import argparse
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from core.checks import Floats
from core.evidence import Evidence
from core.tap_count import Counted, stray_of, without_doubles
from core.tap_evidence import TapEvidence
from core.tap_missed import SHORT, Missing, smoothed
from core.tap_places import Every, Places
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.held_out import held_out
from tests.bench.listen import listen
from tests.bench.tapper import first_of, tap_along

SEEDS = range(100, 104)
SPREADS = (0.025, 0.040)
LONGEST = 1.7
MOST = 3
STIFFNESS = 0.3


def examples(performance: Performance, every: Every) -> list[tuple[Floats, bool]]:
    """Features of long steps, and whether taps were missed in them."""
    onsets = listen(performance)
    heard = Evidence(onsets, held_out(performance.name, onsets.source))
    lines = performance.beats if every == "beat" else performance.bars[::every]
    found: list[tuple[Floats, bool]] = []
    for seed in SEEDS:
        taps = tap_along(lines, SPREADS[seed % len(SPREADS)], seed)
        times = taps.times[without_doubles(taps.times)]
        meant = [
            first_of(performance, float(lines[np.argmin(np.abs(lines + taps.bias - time))])) for time in times
        ]
        where = Places.of(performance.metre, *meant[0], every, len(performance.bars) + 8)
        counted: list[Counted] = []
        for time, place in zip(times, [where.index(*one) for one in meant], strict=True):
            if place is not None and (not counted or place > counted[-1].place):
                counted.append(Counted(float(time), place, 0))
        evidence = TapEvidence.of(heard, onsets, [where], [counted])
        at, tempo = smoothed(times_of(counted), where.quarters[[one.place for one in counted]])
        missing = Missing(onsets.time, evidence.by_signature, taps.bias, at, tempo)
        strays = stray_of(times_of(counted))
        for (a, b), stray in zip(pairwise(counted), strays[1:], strict=True):
            steps = [a.place, *where.after(a.place, MOST)]
            missed = steps.index(b.place) - 1 if b.place in steps[1:] else -1
            one = float(where.all[steps[1]].position - where.all[steps[0]].position)
            off = np.log((b.time - a.time) / one) - missing.usual(0.5 * (a.time + b.time))
            if missed < 0 or not SHORT < off < LONGEST:
                continue
            supposed = missed or int(np.clip(round(np.exp(off)) - 1, 1, MOST - 1))
            row = missing.features(a.time, b.time, [where.all[i] for i in steps[: supposed + 2]], stray)
            found.append((row, missed > 0))
    return found


def times_of(counted: list[Counted]) -> Floats:
    """Times of counted taps."""
    return np.array([one.time for one in counted])


def fitted(rows: Floats, missed: Floats) -> Floats:
    """Weights of a logistic regression, pulled a little towards 0 as far as the features vary."""
    scale = rows.std(axis=0)
    scale[scale < 1e-9] = 1.0

    def loss(weights: Floats) -> tuple[float, Floats]:
        z = rows @ (weights / scale)
        p = 1 / (1 + np.exp(-z))
        value = np.sum(np.logaddexp(0, z) - missed * z) + STIFFNESS * np.sum(weights[1:] ** 2)
        slope = (rows / scale).T @ (p - missed) + 2 * STIFFNESS * np.append(0, weights[1:])
        return float(value), slope

    return np.asarray(minimize(loss, np.zeros(rows.shape[1]), jac=True).x / scale)


def main(argv: list[str] | None = None) -> int:
    """Fit and print."""
    parser = argparse.ArgumentParser(prog="fit_missed", description="Fit the weights of core.tap_missed.")
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument("--every", type=int, default=1, metavar="K", help="every Kth take")
    args = parser.parse_args(argv)
    halves: tuple[list[tuple[Floats, bool]], ...] = ([], [])
    for i, performance in enumerate(read_corpus(args.corpus, every=args.every)):
        for every in (1, 2, "beat"):
            halves[i % 2].extend(examples(performance, every))
    rows = [np.array([row for row, _ in half]) for half in halves]
    missed = [np.array([float(one) for _, one in half]) for half in halves]
    weights = fitted(rows[0], missed[0])
    print("every second take:", np.round(weights, 2).tolist())
    for name, a, b in zip(("these", "the others"), rows, missed, strict=True):
        print(f"wrong on {name}: {np.mean((a @ weights > 0) != (b > 0)):.3f} of {len(b)}")
    print("all:", np.round(fitted(np.concatenate(rows), np.concatenate(missed)), 2).tolist())
    return 0


if __name__ == "__main__":
    sys.exit(main())
