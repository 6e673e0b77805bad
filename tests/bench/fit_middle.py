"""Fit what weighs the places of a bar line between two that were tapped; writes ``core/middle_SOURCE.npz``.

    python -m tests.bench.fit_middle CORPUS [--audio DIR [--cache DIR]] [--jobs N]

Every second bar line of a performance is given as a musician would have placed it, some are missed, and each of
the others is one choice; then the other way about. Each take counts once as it is and once played more freely.
Six more are fitted for the benches, each without the takes of one fold (`tests.bench.held_out`), on evidence of
networks that have not seen the take either; what these choose wrongly on the takes left out is printed.
Exit status: 0 fitted, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from core.chooser import Chooser
from core.errors import BarwrightError
from core.evidence import Evidence
from core.onsets import Onsets, Source
from core.tap_count import Counted
from core.tap_evidence import TapEvidence
from core.tap_fill import Filling
from core.tap_places import Places
from core.way import Mark
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.fit_chooser import TOLERANCE, Choice, Examples, fit, freer, stored, wrong
from tests.bench.held_out import HERE, folds, held_out
from tests.bench.listen import listen
from tests.bench.musician import place

MISSED = 0.04
"""Share of the given lines that are left out."""

SHORTEST = 0.1
"""Given lines are so many seconds apart at least."""


def both(performance: Performance, *, audio: Path | None, cache: Path | None) -> tuple[list[Choice], list[Choice]]:
    """Choices of one take as it is, and played more freely."""
    onsets = listen(performance, audio=audio, cache=cache)
    random = np.random.default_rng(zlib.crc32(performance.name.encode()))
    as_is = [choice for first in (0, 1) for choice in choices(performance, onsets, first, random)]
    warped, bars = freer(onsets, performance.bars, random)
    free = replace(performance, bars=bars)
    return as_is, [choice for first in (0, 1) for choice in choices(free, warped, first, random)]


def choices(performance: Performance, onsets: Onsets, first: int, random: np.random.Generator) -> list[Choice]:
    """All choices of one take where every second bar line from the first or the second on is given."""
    metre, bars = performance.metre, performance.bars
    lines = [place(float(bar), onsets.time) for bar in bars]
    given: list[int] = []
    for at in range(first, len(bars), 2):
        if not given or (random.random() >= MISSED and lines[at] - lines[given[-1]] > SHORTEST):
            given.append(at)
    where = Places.of(metre, given[0] + 1, 1, 1, len(bars) + 1)
    counted = [Counted(lines[at], where.index(at + 1, 1) or 0, i) for i, at in enumerate(given)]
    heard = TapEvidence.of(Evidence(onsets, held_out(performance.name, onsets.source)), onsets, [where], [counted])
    known = [Mark(metre.quarter_of(at + 1), lines[at]) for at in given]
    filling = Filling(known, metre, onsets, heard.heard, heard.taught(known, metre).heard)
    found: list[Choice] = []
    for line in filling.order:
        here, described = filling.described(line)
        right = np.abs(here.time - bars[line.bar - 1]) <= TOLERANCE
        if right.any():
            found.append((described.astype(np.float32), right))
        if line.end - line.begin > 2:
            # The lines beside it are looked for on both sides of where it is.
            filling.put(line.bar, lines[line.bar - 1], 1.0)
    return found


def main(argv: list[str] | None = None) -> int:
    """Fit, write and print how the ones for the benches do."""
    parser = argparse.ArgumentParser(prog="fit_middle", description="Fit what weighs places between taps.")
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument("--audio", type=Path, metavar="DIR", help="use the recordings in DIR")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep the onsets of recordings in DIR")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="processes")
    args = parser.parse_args(argv)
    try:
        performances = [p for p in read_corpus(args.corpus) if p.name in folds()]
        with ProcessPoolExecutor(args.jobs) as pool:
            takes = list(pool.map(partial(both, audio=args.audio, cache=args.cache), performances))
    except BarwrightError as error:
        print(f"fit_middle: {error}", file=sys.stderr)
        return 2
    source: Source = "midi" if args.audio is None else "audio"
    dealt = list(zip(takes, [folds()[performance.name] for performance in performances], strict=True))
    without: list[Chooser] = []
    amiss: list[float] = []
    for fold in range(max(of for _, of in dealt) + 1):
        without.append(fit(Examples.of([take for pair, of in dealt if of != fold for take in pair if take])))
        amiss += [wrong(without[-1], as_is) for (as_is, _), of in dealt if of == fold and as_is]
    print(f"Wrong on takes left out: median {np.median(amiss):.3f}, mean {np.mean(amiss):.3f}")
    shipped = fit(Examples.of([take for pair in takes for take in pair if take]))
    np.savez_compressed(HERE / f"held_out_middle_{source}.npz", **stored(without, prefixed=True))
    core = Path(__file__).parents[2] / "core"
    np.savez_compressed(core / f"middle_{source}.npz", **stored([shipped], prefixed=False))
    return 0


if __name__ == "__main__":
    sys.exit(main())
