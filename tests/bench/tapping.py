"""How right the bar lines are after one pass of taps, on every take of a corpus folder.

    python -m tests.bench.tapping CORPUS [--audio DIR [--cache DIR]] [--only NAME ...] [--every K]
                                  [--jobs N] [--json]

The taps are those of the musician simulated in `tests.bench.tapper`, with fixed seeds: every bar, every second
bar and every beat, with a spread of 25 and of 40 ms. All bar lines of a take count, tapped or not. Figures are
means over the takes (the median error is their median), beside those of the raw taps and of the taps less the
bias that was found, where the bars between are divided evenly. A line is false when no true bar line is within
a quarter of a bar, or another line is nearer to the same one. What remains to be done counts a gesture for each
line to be moved, put in or taken out, per 100 bars, as `tests.bench.effort` counts.
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from core.checks import Floats
from core.errors import BarwrightError, InputError
from core.onsets import Onsets
from core.tap_places import Every
from core.taps import Pass, read_taps
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.held_out import held_out, held_out_middle
from tests.bench.listen import listen
from tests.bench.parallel import over_takes, plain
from tests.bench.tapper import first_of, tap_along

WAYS: tuple[tuple[str, Every], ...] = (("every bar", 1), ("every second bar", 2), ("every beat", "beat"))
SPREADS = (0.025, 0.040)
NEAR, RIGHT = 0.030, 0.050
FALSE = 0.25
"""Share of a bar beyond which a line belongs to no true one."""

SEED = 100
SEEDS = 1000


def measure(performance: Performance, *, audio: Path | None, cache: Path | None) -> dict[str, Any]:
    """Figures of one take for every way of tapping; an error says which take it was."""
    try:
        onsets = listen(performance, audio=audio, cache=cache)
        ways = {
            f"{name}, {_ms(spread)} ms": _way(performance, onsets, every, spread)
            for name, every in WAYS
            for spread in SPREADS
        }
    except BarwrightError as error:
        raise InputError(f"{performance.name}: {error}") from error
    return {"name": performance.name, "bars": len(performance.bars), "ways": ways}


def _way(performance: Performance, onsets: Onsets, every: Every, spread: float) -> dict[str, Any]:
    bars = performance.bars
    lines = performance.beats if every == "beat" else bars[::every]
    # The seed hangs on the take's name, so that a take is tapped alike whatever other takes are measured.
    seed = SEED + sum(performance.name.encode()) % SEEDS
    taps = tap_along(lines, spread, seed)
    bar, beat = first_of(performance, float(lines[taps.first]))
    one = Pass(taps.times, every, bar, beat)
    read = read_taps(
        [one],
        onsets,
        performance.metre,
        networks=held_out(performance.name, onsets.source),
        chooser=held_out_middle(performance.name, onsets.source),
    )
    found = [line for line in read.lines if line.beat == 1]
    times = np.array([line.time for line in found])
    numbers = np.array([line.bar for line in found])
    doubtful = np.array([line.doubtful for line in found], dtype=np.bool_)
    off = np.array([np.min(np.abs(bars - time)) for time in times])
    known = (numbers >= 1) & (numbers <= len(bars))
    numbered = np.abs(times - bars[np.clip(numbers - 1, 0, len(bars) - 1)]) <= np.array(RIGHT)
    steps = max(int(every), 1) if every != "beat" else 1
    raw = _evenly(taps.times, steps) if every != "beat" else taps.times
    return {
        **figures(times, bars),
        "effort_left": effort_left(times, bars),
        "number_right": float(np.mean(numbered & known)),
        "bias_off_ms": 1000 * abs(read.habits[0].bias - taps.bias),
        "doubtful": float(np.mean(doubtful)),
        "doubtful_wrong": _share(off[doubtful] > RIGHT),
        "wrong_doubtful": _share(doubtful[off > RIGHT]),
        "raw": figures(raw, bars),
        "less_bias": figures(raw - read.habits[0].bias, bars),
    }


def _evenly(taps: Floats, steps: int) -> Floats:
    """The taps and the lines that divide what lies between them."""
    at = np.arange((len(taps) - 1) * steps + 1) / steps
    return np.asarray(np.interp(at, np.arange(len(taps)), taps))


def figures(lines: Floats, bars: Floats) -> dict[str, float]:
    """How near the true bar lines are to the nearest lines, and how many lines are false."""
    errors = np.array([np.min(np.abs(lines - bar)) for bar in bars])
    return {
        "within_30ms": float(np.mean(errors <= NEAR)),
        "within_50ms": float(np.mean(errors <= RIGHT)),
        "median_error_ms": 1000 * float(np.median(errors)),
        "false_lines": false_lines(lines, bars),
    }


def false_lines(lines: Floats, bars: Floats) -> float:
    """Share of the lines that stand for no true bar line."""
    lengths = np.diff(bars)
    lengths = np.minimum(np.append(lengths, lengths[-1]), np.insert(lengths, 0, lengths[0]))
    owner = np.array([int(np.argmin(np.abs(bars - line))) for line in lines])
    off = np.abs(lines - bars[owner])
    true = 0
    for bar in np.unique(owner):
        true += bool(np.min(off[owner == bar]) <= FALSE * lengths[bar])
    return 1.0 - true / len(lines)


def effort_left(lines: Floats, bars: Floats) -> float:
    """Gestures per 100 bars that put all lines right: each moves a line, puts one in or takes one out."""
    nearest = np.array([int(np.argmin(np.abs(lines - bar))) for bar in bars])
    right = [(i, j) for i, j in enumerate(nearest.tolist()) if abs(lines[j] - bars[i]) <= RIGHT]
    gestures = 0
    for (i, j), (k, m) in pairwise([(-1, -1), *right, (len(bars), len(lines))]):
        gestures += max(k - i, m - j) - 1
    return 100 * gestures / len(bars)


def _share(which: Any) -> float:
    return float(np.mean(which)) if len(which) else math.nan


def _ms(seconds: float) -> str:
    return f"{1000 * seconds:g}"


def summarise(takes: list[dict[str, Any]], source: str) -> dict[str, Any]:
    """All figures over the takes; those of every bar at the least spread on top."""
    ways = {way: _over([take["ways"][way] for take in takes]) for way in takes[0]["ways"]}
    main = next(iter(ways.values()))
    top = {key: main[key] for key in ("within_30ms", "within_50ms", "median_error_ms", "false_lines")}
    return {**top, "n": len(takes), "source": source, "ways": ways, "takes": takes}


def _over(figures: Sequence[dict[str, Any]]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, first in figures[0].items():
        if isinstance(first, dict):
            out[key] = _over([one[key] for one in figures])
            continue
        values = np.array([one[key] for one in figures])
        values = values[~np.isnan(values)]
        if not len(values):
            out[key] = math.nan
        elif key == "median_error_ms":
            out[key] = float(np.median(values))
        else:
            out[key] = float(np.mean(values))
    out["within_50ms_median"] = float(np.median([one["within_50ms"] for one in figures]))
    return out


def show(summary: dict[str, Any]) -> None:
    """Print the figures as tables."""
    width = max(len(take["name"]) for take in summary["takes"])
    ways = list(summary["ways"])
    print(f"{'bar lines within 50 ms':<{width}} {'bars':>5} " + " ".join(f"{way:>24}" for way in ways))
    for take in summary["takes"]:
        values = " ".join(f"{100 * take['ways'][way]['within_50ms']:24.1f}" for way in ways)
        print(f"{take['name']:<{width}} {take['bars']:5} {values}")
    print(f"\n{summary['n']} takes ({summary['source']}), percent of all bar lines")
    print(
        f"{'':<38} {'30 ms':>6} {'50 ms':>6} {'median':>7} {'error':>6} {'false':>6} "
        f"{'doubtful':>9} {'bias':>5} {'numbers':>8} {'effort left':>12}"
    )
    for way, all_of in summary["ways"].items():
        for label, one in (
            (way, all_of),
            ("  taps less bias", all_of["less_bias"]),
            ("  raw taps", all_of["raw"]),
        ):
            percent = [100 * one[key] for key in ("within_30ms", "within_50ms", "within_50ms_median")]
            text = f"{label:<38} {percent[0]:6.1f} {percent[1]:6.1f} {percent[2]:7.1f} "
            text += f"{one['median_error_ms']:6.1f} {100 * one['false_lines']:6.2f}"
            if label == way:
                text += f" {100 * one['doubtful']:9.1f} {one['bias_off_ms']:5.1f} {100 * one['number_right']:8.1f}"
                text += f" {one['effort_left']:12.1f}"
            print(text)


def main(argv: list[str] | None = None) -> int:
    """Measure what the arguments say and print it."""
    parser = argparse.ArgumentParser(prog="tapping", description="Bar lines after one pass of simulated taps.")
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument(
        "--audio", type=Path, metavar="DIR", help="use the recordings NAME.wav or NAME.flac in DIR"
    )
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep the onsets of recordings in DIR")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="these takes")
    parser.add_argument("--every", type=int, default=1, metavar="K", help="every Kth take")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="processes")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    if args.jobs < 1:
        parser.error("--jobs must be positive.")
    try:
        performances = read_corpus(args.corpus, only=args.only, every=args.every)
        takes = over_takes(partial(measure, audio=args.audio, cache=args.cache), performances, args.jobs)
    except BarwrightError as error:
        print(f"tapping: {error}", file=sys.stderr)
        return 2
    summary = summarise(takes, "midi" if args.audio is None else "audio")
    if args.json:
        print(json.dumps(plain(summary), indent=1, allow_nan=False))
    else:
        show(summary)
    return 0


if __name__ == "__main__":
    sys.exit(main())
