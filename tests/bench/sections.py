"""How well sections are proposed where music is heard again, on performances with true bar lines.

    python -m tests.bench.sections CORPUS [--audio DIR [--cache DIR]] [--json]

Nobody has named the sections of these pieces, so what is played again is found in another way than the proposals
are: notes themselves, at their places in the true bars (pitch and twelfth of the bar, Dice's coefficient, 0.6 for
alike). Stretches of eight bars and more that come again, the longest first, give the edges that sections should
have, and the pairs of bars that should be the same music. Pieces of which three bars in ten are part of such a
stretch are judged: edges by mir_eval.segment.detection within one bar, beside an edge at every eighth bar; pairs
by how many of them lie in the same place of sections with the same letter, and how many pairs of such sections
are played alike (0.4).
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pretty_midi
from mir_eval.segment import detection

from core.checks import Floats
from core.document import Section
from core.errors import BarwrightError
from core.grid import Beat, Grid
from core.propose_sections import propose_sections
from core.section_looks import root_of
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.listen import listen

PLACES, ALIKE, RATHER = 12, 0.6, 0.4
LONG, SHARE = 8, 0.3
Span = tuple[int, int, int]
"""First bar of a stretch, the bar after its last, and how many bars later it is heard again; from 0."""


def grid_of(performance: Performance) -> Grid:
    """The true bars with even beats."""
    beats = []
    for i, (begin, end) in enumerate(pairwise(performance.bars.tolist())):
        count = performance.metre.at(i + 1).beats
        beats += [Beat(begin + (end - begin) * j / count, i + 1, j + 1, placed=True) for j in range(count)]
    beats.append(Beat(float(performance.bars[-1]), len(performance.bars), 1, placed=True))
    return Grid(performance.metre, tuple(beats))


def played_alike(performance: Performance) -> Floats:
    """How much of the notes of two bars is the same, shape (bars, bars); a place more or less does not matter."""
    midi = pretty_midi.PrettyMIDI(str(performance.midi))
    notes = [(note.start, note.pitch) for track in midi.instruments for note in track.notes]
    start, pitch = np.array(notes).T
    lines = performance.bars
    bar = np.searchsorted(lines, start + 0.03, side="right") - 1
    inside = (bar >= 0) & (bar < len(lines) - 1)
    start, pitch, bar = start[inside], pitch[inside].astype(int), bar[inside]
    place = np.rint(PLACES * (start - lines[bar]) / (lines[bar + 1] - lines[bar])).astype(int).clip(0, PLACES - 1)
    struck = np.zeros((len(lines) - 1, 128, PLACES), np.float32)
    struck[bar, pitch, place] = 1
    around = np.maximum(struck, np.maximum(np.roll(struck, 1, axis=2), np.roll(struck, -1, axis=2)))
    one, wide = struck.reshape(len(struck), -1), around.reshape(len(struck), -1)
    count = one.sum(axis=1)
    alike = (one @ wide.T + wide @ one.T) / (count[:, None] + count + 1e-9)
    alike[(count < 3)[:, None] | (count < 3)] = 0
    return np.minimum(alike, 1)


def stretches(alike: Floats) -> list[Span]:
    """Stretches that are heard again, the longest first; each has eight bars that no longer one has."""
    found = []
    for lag in range(LONG, len(alike)):
        alikes = np.diagonal(alike, lag) >= ALIKE
        # One bar that was played otherwise does not end a stretch.
        alikes = alikes | (np.append(False, alikes[:-1]) & np.append(alikes[1:], False))
        changes = np.flatnonzero(np.diff(np.concatenate([[0], alikes.astype(int), [0]]))).tolist()
        found += [(begin, end, lag) for begin, end in zip(changes[::2], changes[1::2], strict=True)]
    told = np.zeros(len(alike), bool)
    kept = []
    for begin, end, lag in sorted(found, key=lambda span: (span[0] - span[1], span)):
        bars = np.r_[begin:end, begin + lag : end + lag]
        if end - begin >= LONG and np.count_nonzero(~told[bars]) >= LONG:
            told[bars] = True
            kept.append((begin, end, lag))
    return kept


def edges_of(spans: list[Span], bars: int) -> list[int]:
    """All their beginnings and ends inside a piece, none twice."""
    edges: list[int] = []
    for begin, end, lag in spans:
        for edge in (begin, end, begin + lag, end + lag):
            if 1 < edge < bars - 1 and min([abs(edge - other) for other in edges], default=bars) > 1:
                edges.append(edge)
    return sorted(edges)


def hits(true: list[int], found: list[int], bars: int) -> tuple[float, float]:
    """Precision and recall of edges, as mir_eval counts them."""
    rows = [np.array([*pairwise([0, *edges, bars])], dtype=float) for edges in (true, found)]
    precision, recall, _ = detection(*rows, window=1.0, trim=True)
    return float(precision), float(recall)


def pairs_of(sections: tuple[Section, ...], bars: int) -> set[tuple[int, int]]:
    """Bars at the same place of sections with the same letter; from 0, the earlier first."""
    begins = [section.bar - 1 for section in sections]
    spans = [*zip(begins, [*begins[1:], bars], (root_of(section.name) for section in sections), strict=True)]
    return {
        (begin + i, other + i)
        for at, (begin, end, name) in enumerate(spans)
        for other, last, same in spans[at + 1 :]
        if same == name
        for i in range(min(end - begin, last - other))
    }


def measure(performance: Performance, *, audio: Path | None, cache: Path | None) -> dict[str, Any] | None:
    """Figures of one piece; None where too little of it is heard again."""
    alike = played_alike(performance)
    bars, spans = len(alike), stretches(alike)
    again = {bar + away for begin, end, lag in spans for bar in range(begin, end) for away in (0, lag)}
    if len(again) < SHARE * bars:
        return None
    onsets, grid = listen(performance, audio=audio, cache=cache), grid_of(performance)
    begun = time.process_time()
    sections = propose_sections(onsets, grid)
    seconds = time.process_time() - begun
    true = edges_of(spans, bars)
    precision, recall = hits(true, [section.bar - 1 for section in sections[1:]], bars)
    _, even = hits(true, [*range(8, bars - 1, 8)], bars)
    wanted = {(bar, bar + lag) for begin, end, lag in spans for bar in range(begin, end)}
    found = pairs_of(sections, bars)
    near = {(i, j + off) for i, j in found for off in (-1, 0, 1)}
    alikes = [alike[i, max(j - 1, 0) : j + 2].max() >= RATHER for i, j in found]
    return {
        "piece": performance.name,
        "bars": bars,
        "heard_again": len(again) / bars,
        "sections": len(sections),
        "edges": len(true),
        "edge_recall": recall,
        "edge_precision": precision,
        "edge_recall_every_8": even,
        "pair_recall": len(wanted & near) / len(wanted),
        "pair_precision": float(np.mean(alikes)) if alikes else None,
        "seconds": seconds,
        "names": " ".join(f"{section.bar}:{section.name}" for section in sections),
    }


def main(argv: list[str] | None = None) -> int:
    """Run the bench; argv as on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.sections", description=(__doc__ or "").strip())
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus())
    parser.add_argument(
        "--audio", type=Path, metavar="DIR", help="use the recordings NAME.wav or NAME.flac in DIR"
    )
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep onsets of recordings there")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    try:
        performances = read_corpus(args.corpus)
        told = [measure(each, audio=args.audio, cache=args.cache) for each in performances]
    except BarwrightError as error:
        print(error, file=sys.stderr)
        return 2
    pieces = [piece for piece in told if piece is not None]
    names = ("edge_recall", "edge_precision", "edge_recall_every_8", "pair_recall", "pair_precision")
    means = {name: float(np.mean([piece[name] for piece in pieces if piece[name] is not None])) for name in names}
    if args.json:
        print(json.dumps({"pieces": pieces, **means}))
        return 0
    for piece in pieces:
        print(
            f"{piece['piece'][:44]:44} {piece['bars']:4} bars, {piece['sections']:2} sections; edges found "
            f"{piece['edge_recall']:.2f} of {piece['edges']:2}, pairs {piece['pair_recall']:.2f}, "
            f"right {'-' if piece['pair_precision'] is None else format(piece['pair_precision'], '.2f')}"
        )
        print(f"    {piece['names']}")
    print(f"{len(pieces)} pieces: " + ", ".join(f"{name} {value:.3f}" for name, value in means.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
