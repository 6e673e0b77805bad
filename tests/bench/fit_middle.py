"""Fit what weighs the places of a bar line between two that were tapped; writes ``core/middle_SOURCE.npz``.

    python -m tests.bench.fit_middle CORPUS [--audio DIR [--cache DIR]] [--jobs N]

Every second bar line of a performance is given as a musician would have placed it, some are missed, and each of
the others is one choice; then the other way about. Each take counts once as it is and once played more freely.
Six more are fitted for the benches, each without the takes of one fold (`tests.bench.held_out`), on evidence of
networks that have not seen the take either; what these choose wrongly on the takes left out is printed.
Exit status: 0 fitted, 2 something given cannot be used.
"""

from __future__ import annotations

import sys
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np

from core.evidence import Evidence
from core.onsets import Onsets
from core.tap_count import Counted
from core.tap_evidence import TapEvidence
from core.tap_fill import Filling
from core.tap_places import Places
from core.way import Mark
from tests.bench.corpus import Performance
from tests.bench.fit_chooser import TOLERANCE, Choice, freer, run
from tests.bench.held_out import held_out
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
    """Fit what weighs places between two taps."""
    return run(argv, "middle", "Fit what weighs places between taps.", both)


if __name__ == "__main__":
    sys.exit(main())
