"""How much work is left to a musician, on every take of a corpus folder.

    python -m tests.bench.effort CORPUS [--audio DIR [--cache DIR]] [--only NAME ...] [--every K]
                                 [--tolerance S] [--between] [--jobs N] [--json]

Effort is gestures per 100 bars of the musician simulated in `tests.bench.musician`, for the tracker and for the
plain rule "last bar's length again, on the nearest onset"; both, and the musician's gestures, snap to the onsets
that the tool hears in the take. Takes with more than 10 % unsettled beats are left out.
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterable
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from core.errors import BarwrightError, InputError
from core.grid import Beat, Pin
from core.metre import Metre
from core.onsets import Onsets
from core.tracker import Tracker
from tests.bench.corpus import Performance, default_corpus, read_corpus
from tests.bench.held_out import held_out, held_out_chooser
from tests.bench.listen import listen
from tests.bench.musician import between_pins, correct
from tests.bench.parallel import over_takes, plain
from tests.bench.rules import even_division, last_bar_again, onto

MAIN = 0.050
OTHERS = (0.070, 0.030)
MOST_UNSETTLED = 0.10
BETWEEN = (2, 4, 8, 16)
RUBATO = (0.0, 0.03, 0.06, 0.10, math.inf)
"""Edges of the classes of bar-to-bar change for which the effort is given too."""


def tracker_for(name: str, onsets: Onsets, metre: Metre) -> Tracker:
    """The tracker for a take of the corpus: the one place where the weights it works with are picked."""
    networks, chooser = held_out(name, onsets.source), held_out_chooser(name, onsets.source)
    return Tracker(onsets, metre, networks=networks, chooser=chooser)


def measure(performance: Performance, **how: Any) -> dict[str, Any]:
    """Figures of one take as in `figures_of`; an error says which take it was."""
    try:
        return figures_of(performance, **how)
    except BarwrightError as error:
        raise InputError(f"{performance.name}: {error}") from error


def figures_of(
    performance: Performance,
    *,
    tolerances: tuple[float, ...],
    between: bool,
    audio: Path | None,
    cache: Path | None,
) -> dict[str, Any]:
    """Figures of one take; those of `tolerances` but the first are under their milliseconds."""
    onsets = listen(performance, audio=audio, cache=cache)
    bars, chords = performance.bars, onsets.time
    product = tracker_for(performance.name, onsets, performance.metre)

    def tracker(pins: tuple[Pin, ...]) -> tuple[Beat, ...]:
        return product.grid(pins).bar_lines

    duration = max(onsets.duration, float(bars[-1]))
    rule, unsnapped = last_bar_again(duration, onto(chords)), last_bar_again(duration)
    work = partial(correct, bars, chords)

    main = tolerances[0]
    done, stepped = work(tracker, tolerance=main), work(tracker, tolerance=main, stepping=True)
    entry: dict[str, Any] = {
        "name": performance.name,
        "bars": len(bars),
        "gestures": len(done.pins),
        "effort": done.effort,
        "with_alternatives": stepped.effort,
        "with_blind_alternatives": stepped.blind_effort,
        "rule_effort": work(rule, tolerance=main).effort,
        "unsnapped_rule_effort": work(unsnapped, tolerance=main).effort,
        "bar_to_bar_change": performance.bar_to_bar_change,
        "others": {
            _ms(tolerance): {
                "effort": work(tracker, tolerance=tolerance).effort,
                "rule_effort": work(rule, tolerance=tolerance).effort,
            }
            for tolerance in tolerances[1:]
        },
    }
    if between:
        evenly = even_division(onto(chords))
        entry["between"] = {
            str(k): {
                "right": between_pins(bars, chords, tracker, every=k, tolerance=main),
                "rule_right": between_pins(bars, chords, evenly, every=k, tolerance=main),
            }
            for k in BETWEEN
        }
    return entry


def _ms(tolerance: float) -> str:
    return f"{1000 * tolerance:g}"


def spread(values: Iterable[float]) -> dict[str, float | None]:
    """Median, quartiles and mean of the values that are numbers."""
    known = [value for value in values if not math.isnan(value)]
    if not known:
        return {"median": None, "q1": None, "q3": None, "mean": None}
    q1, median, q3 = np.percentile(known, [25, 50, 75]).tolist()
    return {"median": median, "q1": q1, "q3": q3, "mean": float(np.mean(known))}


def summarise(takes: list[dict[str, Any]], left_out: list[str], tolerance: float, source: str) -> dict[str, Any]:
    """All figures over the takes; the main ones on top."""
    summary: dict[str, Any] = {
        **spread(take["effort"] for take in takes),
        "tolerance_s": tolerance,
        "n": len(takes),
        "source": source,
        "rule_median": spread(take["rule_effort"] for take in takes)["median"],
    }
    for key in ("rule_effort", "unsnapped_rule_effort", "with_alternatives", "with_blind_alternatives"):
        summary[key] = spread(take[key] for take in takes)
    summary["other_tolerances_ms"] = {
        ms: {key: spread(take["others"][ms][key] for take in takes) for key in ("effort", "rule_effort")}
        for ms in takes[0]["others"]
    }
    summary["by_bar_to_bar_change"] = [
        {"from": low, "below": None if math.isinf(high) else high, "n": len(efforts), **spread(efforts)}
        for low, high in pairwise(RUBATO)
        if (efforts := [take["effort"] for take in takes if low <= take["bar_to_bar_change"] < high])
    ]
    if "between" in takes[0]:
        summary["between_pins"] = {
            k: {key: spread(take["between"][k][key] for take in takes) for key in ("right", "rule_right")}
            for k in takes[0]["between"]
        }
    return summary | {"left_out": left_out, "takes": takes}


def show(summary: dict[str, Any]) -> None:
    """Print the figures as tables."""
    takes = summary["takes"]
    width = max(len(take["name"]) for take in takes)
    print(f"{'take':<{width}} {'bars':>5} {'change':>7} {'gestures':>9} {'effort':>7} {'altern.':>8} {'rule':>6}")
    for take in takes:
        print(
            f"{take['name']:<{width}} {take['bars']:5} {take['bar_to_bar_change']:7.3f} {take['gestures']:9} "
            f"{take['effort']:7.1f} {take['with_alternatives']:8.1f} {take['rule_effort']:6.1f}"
        )
    for name in summary["left_out"]:
        print(f"{name:<{width}} left out: more than {MOST_UNSETTLED:.0%} of its beats are unsettled")

    ms = _ms(summary["tolerance_s"])
    print(f"\nGestures per 100 bars, {summary['n']} takes ({summary['source']})")
    print(f"{'':<44} {'median':>7} {'q1':>6} {'q3':>6} {'mean':>6}")
    _row(f"tracker, {ms} ms", summary)
    _row(f"  stepping to alternatives, {ms} ms", summary["with_alternatives"])
    _row("  the same, presses in vain counted", summary["with_blind_alternatives"])
    _row(f"last bar again, nearest onset, {ms} ms", summary["rule_effort"])
    _row(f"last bar again, {ms} ms", summary["unsnapped_rule_effort"])
    for other, figures in summary["other_tolerances_ms"].items():
        _row(f"tracker, {other} ms", figures["effort"])
        _row(f"last bar again, nearest onset, {other} ms", figures["rule_effort"])
    for part in summary["by_bar_to_bar_change"]:
        below = " and more" if part["below"] is None else f" to {part['below']:.0%}"
        _row(f"tracker, bar-to-bar change {part['from']:.0%}{below}, n={part['n']}", part)
    if "between_pins" in summary:
        print(f"\nPercent of the bar lines between pins within {ms} ms")
        for k, figures in summary["between_pins"].items():
            _row(f"tracker, a pin every {k} bars", figures["right"], 100)
            _row(f"even division, nearest onset, every {k} bars", figures["rule_right"], 100)


def _row(label: str, figures: dict[str, float | None], scale: float = 1) -> None:
    values = [figures[key] for key in ("median", "q1", "q3", "mean")]
    text = ["-" if value is None else f"{scale * value:.1f}" for value in values]
    print(f"{label:<44} {text[0]:>7} {text[1]:>6} {text[2]:>6} {text[3]:>6}")


def main(argv: list[str] | None = None) -> int:
    """Measure what the arguments say and print it."""
    parser = argparse.ArgumentParser(
        prog="effort", description="Gestures per 100 bars until every bar line is right."
    )
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument(
        "--audio", type=Path, metavar="DIR", help="use the recordings NAME.wav or NAME.flac in DIR"
    )
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep the onsets of recordings in DIR")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="these takes")
    parser.add_argument("--every", type=int, default=1, metavar="K", help="every Kth take")
    parser.add_argument("--tolerance", type=float, metavar="S", help="this tolerance alone, in seconds")
    parser.add_argument("--between", action="store_true", help="also pins every 2, 4, 8 and 16 bars")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="processes")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    tolerances = (MAIN, *OTHERS) if args.tolerance is None else (args.tolerance,)
    if args.jobs < 1 or not tolerances[0] > 0:
        parser.error("--jobs and --tolerance must be positive.")
    try:
        performances = read_corpus(args.corpus, only=args.only, every=args.every)
        usable = [performance for performance in performances if performance.unsettled <= MOST_UNSETTLED]
        if not usable:
            parser.error(f"every take has more than {MOST_UNSETTLED:.0%} unsettled beats.")
        work = partial(measure, tolerances=tolerances, between=args.between, audio=args.audio, cache=args.cache)
        takes = over_takes(work, usable, args.jobs)
    except BarwrightError as error:
        print(f"effort: {error}", file=sys.stderr)
        return 2
    left_out = [performance.name for performance in performances if performance not in usable]
    summary = summarise(takes, left_out, tolerances[0], "midi" if args.audio is None else "audio")
    if args.json:
        print(json.dumps(plain(summary), indent=1, allow_nan=False))
    else:
        show(summary)
    return 0


if __name__ == "__main__":
    sys.exit(main())
