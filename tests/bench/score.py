"""How well beats are found with no help at all: ``barwright beats`` on every take of a corpus folder, scored.

    python -m tests.bench.score CORPUS [--audio DIR] [--scorer FILE] [--out DIR] [--metre] [--max-seconds N]
                                [--only NAME ...] [--every K] [--jobs N] [--json]

The scoring is done by the script that comes with the corpus (mir_eval underneath). What general-purpose libraries
reach on the same performances stands below, measured on the first 180 s of each.
Exit status: 0 scored, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

from core.errors import BarwrightError, InputError
from core.find_onsets import find_onsets
from core.propose import propose
from core.read_take import read_take
from core.tracker import Tracker
from core.write_csv import write_beats
from tests.bench.corpus import SUFFIX, Performance, default_corpus, read_corpus
from tests.bench.held_out import held_out
from tests.bench.listen import recording_of

COLUMNS = {
    "F": "beat_f",
    "F5": "beat_f_trimmed",
    "CMLt": "cmlt",
    "AMLt": "amlt",
    "dbF": "downbeat_f",
    "dbF5": "downbeat_f_trimmed",
}

# Mean over the 48 performances of the corpus, first 180 s, audio rendered from the MIDI; measured with the
# libraries' defaults when the corpus was put together. Beat F, CMLt, AMLt, bar-line F.
REFERENCES = {
    "madmom recurrent network + bar tracker (audio)": (0.493, 0.229, 0.358, 0.300),
    "librosa.beat.beat_track (audio)": (0.461, 0.183, 0.337, 0.140),
    "essentia RhythmExtractor2013 multifeature (audio)": (0.455, 0.189, 0.358, 0.115),
    "librosa.beat.plp (audio)": (0.420, 0.080, 0.166, 0.129),
    "partitura (MIDI)": (0.370, 0.085, 0.192, 0.039),
    "pretty_midi, estimated tempo laid out evenly (MIDI)": (0.278, 0.025, 0.092, 0.086),
}


def find_beats(performance: Performance, *, audio: Path | None, out: Path, metre: bool) -> None:
    """Find the beats of one take as ``barwright beats`` does, with weights that were tuned without it."""
    take = performance.midi if audio is None else recording_of(performance, audio)
    onsets = find_onsets(read_take(take))
    networks = held_out(performance.name, onsets.source)
    if metre:
        grid = Tracker(onsets, performance.metre, networks=networks).grid()
    else:
        grid = propose(onsets, networks=networks).grid
    write_beats(out / f"{performance.name}{SUFFIX}", grid, overwrite=True)


def score(scorer: Path, corpus: Path, out: Path, names: list[str], max_seconds: float | None) -> dict[str, Any]:
    """Figures of the scoring script, as it gives them."""
    command = [sys.executable, str(scorer), str(corpus), str(out), "--json", "--only", *names]
    if max_seconds is not None:
        command += ["--max-seconds", str(max_seconds)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise InputError(f"The scorer {scorer} failed: {done.stderr.strip()}")
    figures: dict[str, Any] = json.loads(done.stdout)
    return figures


def show(figures: dict[str, Any], label: str) -> None:
    """Print the takes, their mean and median, and what other libraries reach."""
    performances = figures["performances"]
    width = max(map(len, [*performances, *REFERENCES]))
    print(f"{'take':<{width}} " + " ".join(f"{column:>6}" for column in COLUMNS))
    rows = performances | {f"{label}, {kind}": figures["summary"][kind] for kind in ("mean", "median")}
    for name, row in rows.items():
        print(f"{name:<{width}} " + " ".join(f"{row[key]:6.3f}" for key in COLUMNS.values()))
    limit = figures["max_seconds"]
    heard = "the whole take" if limit is None else f"the first {limit:g} s"
    print(f"\nn={figures['n_performances']}, {heard}. For comparison, means over the first 180 s of all 48:")
    print(f"{'':<{width}} {'F':>6} {'':>6} {'CMLt':>6} {'AMLt':>6} {'dbF':>6}")
    for name, (beat, cml, aml, bar) in REFERENCES.items():
        print(f"{name:<{width}} {beat:6.3f} {'':>6} {cml:6.3f} {aml:6.3f} {bar:6.3f}")


def main(argv: list[str] | None = None) -> int:
    """Find the beats of every take, score them and print the figures."""
    parser = argparse.ArgumentParser(prog="score", description="Score the beats found without help.")
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument(
        "--audio", type=Path, metavar="DIR", help="use the recordings NAME.wav or NAME.flac in DIR"
    )
    parser.add_argument(
        "--scorer", type=Path, metavar="FILE", help="scoring script (CORPUS/../tools/score_beats.py)"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="keep the beats found here")
    parser.add_argument("--metre", action="store_true", help="give the true metre and pickup")
    parser.add_argument("--max-seconds", type=float, default=180.0, metavar="N", help="score so much; 0 all (180)")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="these takes")
    parser.add_argument("--every", type=int, default=1, metavar="K", help="every Kth take")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="takes at a time")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    scorer = args.scorer or args.corpus.resolve().parent / "tools" / "score_beats.py"
    with tempfile.TemporaryDirectory() as scratch:
        out = args.out or Path(scratch)
        try:
            performances = read_corpus(args.corpus, only=args.only, every=args.every)
            if not scorer.is_file():
                raise InputError(f"There is no scoring script {scorer}: say where it is with --scorer FILE.")
            out.mkdir(parents=True, exist_ok=True)
            find = partial(find_beats, audio=args.audio, out=out, metre=args.metre)
            with ProcessPoolExecutor(args.jobs) as pool:
                for i, _ in enumerate(pool.map(find, performances), 1):
                    print(f"{i}/{len(performances)} {performances[i - 1].name}", file=sys.stderr, flush=True)
            names = [performance.name for performance in performances]
            figures = score(scorer, args.corpus, out, names, args.max_seconds or None)
        except (BarwrightError, OSError) as error:
            print(f"score: {error}", file=sys.stderr)
            return 2
    label = f"barwright ({'MIDI' if args.audio is None else 'audio'}{', metre given' if args.metre else ''})"
    if args.json:
        print(json.dumps({"label": label, "references": REFERENCES, **figures}, indent=1))
    else:
        show(figures, label)
    return 0


if __name__ == "__main__":
    sys.exit(main())
