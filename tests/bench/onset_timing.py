"""How well onsets are heard in recordings whose notes are known from MIDI.

    python -m tests.bench.onset_timing CORPUS AUDIO_DIR [--only NAME ...] [--every K] [--json]

AUDIO_DIR holds NAME.wav or NAME.flac, rendered from NAME.mid of the corpus folder. An onset is found when one is
heard within 50 ms of the mean start of a chord (mir_eval's onset window); errors are heard minus MIDI.
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

import numpy as np
from mir_eval.util import match_events

from core.errors import BarwrightError
from core.onsets import Onsets
from core.onsets_midi import midi_onsets
from core.read_midi import read_midi
from tests.bench.corpus import Performance, read_corpus
from tests.bench.listen import listen

WINDOW = 0.050
FIGURES = {
    "recall": "chords heard",
    "precision": "onsets that are chords",
    "f": "F of the two",
    "bias_ms": "median error",
    "error_ms": "median |error|",
    "error_90_ms": "90 % of |error| below",
    "low_right": "lowest note exact",
    "low_r": "lowest note, correlation",
    "high_r": "highest note, correlation",
    "count_r": "number of notes, correlation",
    "strength_r": "level, correlation",
    "length_r": "log length, correlation",
    "seconds_per_10_min": "processor seconds for ten minutes",
}


def compare(heard: Onsets, played: Onsets) -> dict[str, float]:
    """Figures of one take but for the time it took."""
    pairs = np.array(match_events(played.time, heard.time, WINDOW), dtype=np.int64).reshape(-1, 2)
    p, h = pairs.T
    recall, precision = len(pairs) / max(len(played), 1), len(pairs) / max(len(heard), 1)
    error = 1000 * (heard.time[h] - played.time[p])

    def alike(name: str) -> float:
        return float(np.corrcoef(getattr(heard, name)[h], getattr(played, name)[p])[0, 1])

    lengths = [np.log(np.maximum(length, 0.03)) for length in (heard.length[h], played.length[p])]
    return {
        "recall": recall,
        "precision": precision,
        "f": 2 * recall * precision / max(recall + precision, 1e-9),
        "bias_ms": float(np.median(error)),
        "error_ms": float(np.median(np.abs(error))),
        "error_90_ms": float(np.percentile(np.abs(error), 90)),
        "low_right": float(np.mean(heard.low[h] == played.low[p])),
        "low_r": alike("low"),
        "high_r": alike("high"),
        "count_r": alike("count"),
        "strength_r": alike("strength"),
        "length_r": float(np.corrcoef(*lengths)[0, 1]),
    }


def measure(performance: Performance, audio: Path) -> dict[str, float]:
    """Figures of one take as in `FIGURES`."""
    played = midi_onsets(read_midi(performance.midi))
    before = time.process_time()
    heard = listen(performance, audio=audio)
    spent = time.process_time() - before
    return compare(heard, played) | {"seconds_per_10_min": 600 * spent / heard.duration}


def main(argv: list[str] | None = None) -> int:
    """Measure what the arguments say and print it."""
    parser = argparse.ArgumentParser(prog="onset_timing", description="Onsets of recordings against MIDI.")
    parser.add_argument("corpus", type=Path, help="folder of performances")
    parser.add_argument("audio", type=Path, metavar="AUDIO_DIR", help="folder of their recordings")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="these takes")
    parser.add_argument("--every", type=int, default=1, metavar="K", help="every Kth take")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    try:
        performances = read_corpus(args.corpus, only=args.only, every=args.every)
        takes = {performance.name: measure(performance, args.audio) for performance in performances}
    except BarwrightError as error:
        print(f"onset_timing: {error}", file=sys.stderr)
        return 2
    mean = {key: float(np.mean([figures[key] for figures in takes.values()])) for key in FIGURES}
    if args.json:
        print(json.dumps({"window_s": WINDOW, "n": len(takes), "mean": mean, "takes": takes}))
        return 0
    width = max(map(len, takes))
    print(f"{'take':<{width}} {'recall':>7} {'prec.':>7} {'bias ms':>8} {'error ms':>8} {'low':>6}")
    for name, f in takes.items():
        print(
            f"{name:<{width}} {f['recall']:7.3f} {f['precision']:7.3f} {f['bias_ms']:8.2f} {f['error_ms']:8.2f} "
            f"{f['low_right']:6.3f}"
        )
    print(f"\nMean over {len(takes)} takes")
    for key, label in FIGURES.items():
        print(f"{label:<34} {mean[key]:8.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
