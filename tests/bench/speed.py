"""How long each stage takes on a long take, beside librosa's beat tracker on the same audio in the same run.

    python -m tests.bench.speed [--minutes M] [--hours H] [--json]

The take is made here: broken chords in free time, as MIDI and as stereo audio at 44.1 kHz. Every stage is timed
once, after a short take has loaded and compiled what each library needs; suggesting again is timed over 50 pins.
Memory is the peak of a fresh process that finds the onsets of an audio take of H hours.
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import librosa
import numpy as np

from core.fit import fit_bars, fit_fewest
from core.grid import Pin
from core.handover import plan, write
from core.handover_settings import Settings
from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.onsets_audio import audio_onsets
from core.onsets_midi import midi_onsets
from core.read_audio import open_audio
from core.read_back import read_back
from core.read_midi import read_midi
from core.session import place
from core.tracker import Tracker
from tests.bench import render

ROOT = Path(__file__).resolve().parents[2]
METRE = Metre.steady(TimeSignature(4, 4))
WARM_UP = 20.0
"""Seconds of the short take that loads and compiles everything."""

PINS = 50
PEAK = """
import resource, sys
from pathlib import Path
from core.onsets_audio import audio_onsets
from core.read_audio import open_audio
onsets = audio_onsets(open_audio(Path(sys.argv[1])))
print(len(onsets), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
T = TypeVar("T")


class Clock:
    """Seconds of the stages, in the order they were run."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def __call__(self, stage: str, run: Callable[[], T]) -> T:
        """Run a stage and note how long it took."""
        start = time.perf_counter()
        result = run()
        self.seconds[stage] = time.perf_counter() - start
        return result

    def total(self, *stages: str) -> float:
        """Seconds of some stages together."""
        return sum(self.seconds[stage] for stage in stages)


def time_takes(folder: Path, seconds: float) -> dict[str, Any]:
    """Make a take in a folder and run every stage on it."""
    notes = render.compose(seconds)
    midi, audio = folder / "take.mid", folder / "take.wav"
    render.write_midi(midi, notes)
    render.write_audio(audio, notes, seconds)
    pins = tuple(Pin(float(time), bar) for bar, time in enumerate(notes[0][:16:8], 1))

    of_midi, of_audio, of_librosa = Clock(), Clock(), Clock()
    take = of_midi("read", lambda: read_midi(midi))
    again_midi = _after_onsets(of_midi, of_midi("onsets", lambda: midi_onsets(take)), pins, folder)
    recording = of_audio("read", lambda: open_audio(audio))
    again_audio = _after_onsets(of_audio, of_audio("onsets", lambda: audio_onsets(recording)), pins, folder)
    _librosa(of_librosa, audio)
    return {
        "bars": len(notes[0]) // 8,
        "midi": of_midi.seconds,
        "audio": of_audio.seconds,
        "librosa": of_librosa.seconds,
        "again_midi": again_midi,
        "again_audio": again_audio,
        "ratio_to_librosa": {
            "midi": of_midi.total("read", "onsets", "prepare", "suggest") / of_librosa.total("load", "beat_track"),
            "audio": of_audio.total("read", "onsets", "prepare", "suggest")
            / of_librosa.total("load", "beat_track"),
        },
    }


def _librosa(clock: Clock, audio: Path) -> None:
    samples, rate = clock("load", lambda: librosa.load(audio))
    clock("beat_track", lambda: librosa.beat.beat_track(y=samples, sr=rate))


def _after_onsets(
    clock: Clock, onsets: Onsets, pins: tuple[Pin, ...], folder: Path
) -> dict[str, dict[str, float]]:
    """Time what comes after the onsets, and suggesting again after a pin."""
    tracker = clock("prepare", lambda: Tracker(onsets, METRE))
    grid = clock("suggest", lambda: tracker.grid(pins))
    # The first pins are a musician's only help here, so the map is what the tool made of it, right or wrong.
    fit = clock("fit", lambda: fit_bars(grid))
    clock("fit fewest knots, 10 ms", lambda: fit_fewest(grid, 0.010))
    session = clock("place in a session", lambda: place(grid, fit))
    planned = clock("plan all files", lambda: plan(grid, Settings(name="take")))
    written = clock("write them with read-back", lambda: write(planned, folder, overwrite=True))
    clock("read back", lambda: read_back(written.paths["map"], session))
    return {
        "one pin more": _again(tracker, pins, gathering=False),
        "pins gathering": _again(tracker, pins, gathering=True),
    }


def _again(tracker: Tracker, start: tuple[Pin, ...], *, gathering: bool) -> dict[str, float]:
    """Suggest again after a pin on a bar line drawn at random, up to 30 ms from where it was suggested."""
    random = np.random.default_rng(1)
    pins, grid = start, tracker.grid(start)
    seconds = []
    for _ in range(PINS):
        free = [line for line in grid.bar_lines if not line.placed and line.bar > 2]
        if not free:
            break
        line = free[random.integers(len(free))]
        more = tuple(sorted((*pins, Pin(line.time + float(random.uniform(-0.03, 0.03)), line.bar))))
        begin = time.perf_counter()
        answer = tracker.grid(more)
        seconds.append(time.perf_counter() - begin)
        if gathering:
            pins, grid = more, answer
    median, p95 = np.percentile(seconds, [50, 95]).tolist() if seconds else (float("nan"),) * 2
    return {"p50": median, "p95": p95, "n": len(seconds)}


def peak_memory(folder: Path, hours: float) -> dict[str, float]:
    """Peak memory, in megabytes, of a fresh process that finds the onsets of a long audio take."""
    audio, seconds = folder / "long.flac", 3600 * hours
    render.write_audio(audio, render.compose(seconds), seconds)
    begin = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", PEAK, str(audio)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    elapsed = time.perf_counter() - begin
    onsets, peak = map(int, done.stdout.split())
    # Kilobytes on Linux, bytes on macOS (getrusage(2) of each).
    megabytes = peak / (1e6 if sys.platform == "darwin" else 1e3)
    return {"hours": hours, "peak_mb": megabytes, "seconds": elapsed, "onsets": onsets}


def help_seconds(*, runs: int = 5) -> float:
    """Median seconds from the start of ``barwright --help`` to its end."""
    command = [sys.executable, "-m", "app.cli", "--help"]
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - begin)
    return float(np.median(times))


def show(figures: dict[str, Any]) -> None:
    """Print the figures as tables."""
    print(f"A take of {figures['minutes']:g} minutes, {figures['bars']} bars; seconds")
    print(f"{'stage':<36} {'MIDI':>8} {'audio':>8}")
    for stage, seconds in figures["midi"].items():
        print(f"{stage:<36} {seconds:8.3f} {figures['audio'][stage]:8.3f}")
    for label in figures["again_midi"]:
        for key in ("p50", "p95"):
            midi, audio = figures["again_midi"][label][key], figures["again_audio"][label][key]
            print(f"{f'suggest again, {label}, {key}':<36} {midi:8.3f} {audio:8.3f}")
    for stage, seconds in figures["librosa"].items():
        print(f"{f'librosa, {stage}':<36} {'':>8} {seconds:8.3f}")
    ratio = figures["ratio_to_librosa"]
    print(f"{'read to suggest, of librosa':<36} {ratio['midi']:8.2f} {ratio['audio']:8.2f}")
    print(f"\nbarwright --help: {figures['help_s']:.3f} s")
    if memory := figures["memory"]:
        print(
            f"Onsets of {memory['hours']:g} h of stereo audio: peak {memory['peak_mb']:.0f} MB, "
            f"{memory['seconds']:.0f} s, {memory['onsets']} onsets"
        )


def main(argv: list[str] | None = None) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="speed", description="Time every stage on a long take.")
    parser.add_argument("--minutes", type=float, default=10.0, metavar="M", help="length of the take (10)")
    parser.add_argument(
        "--hours", type=float, default=2.0, metavar="H", help="audio take for memory; 0 for none (2)"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    if not args.minutes >= 0.5 or not args.hours >= 0:
        parser.error("--minutes must be at least 0.5, --hours at least 0.")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        # Before the rest: on Linux a child's peak is never less than what its parent holds as it starts.
        memory = peak_memory(folder, args.hours) if args.hours else None
        time_takes(folder, WARM_UP)
        figures = {"minutes": args.minutes, **time_takes(folder, 60 * args.minutes)}
    figures |= {"help_s": help_seconds(), "memory": memory}
    print(json.dumps(figures, indent=1)) if args.json else show(figures)
    return 0


if __name__ == "__main__":
    sys.exit(main())
