"""How quickly the window paints, answers and opens, by real events on the real window with its real worker.

    python -m tests.bench.window [--minutes M] [--hours H] [--processor] [--json]

The take is made here: broken chords in free time with 40 bars a minute, as MIDI and as stereo audio at 44.1 kHz;
its first two bar lines and every hundredth are placed. The timeline is 1600 by 900 pixels on Qt's offscreen
screen. Every frame shows another part than the one before, so nothing can be kept from it. Beside it, in the same
run and size: a widget that is only filled, and the waveform as a curve of pyqtgraph with peak downsampling and an
infinite line for each bar.
Files are in the system's cache when they are opened, and the worker process has had its imports.
On a machine that has other work to do, --processor times painting and moves by what they take of the processor.
Exit status: 0 measured, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.bench import render, window_session
from tests.bench.window_reference import reference
from tests.bench.window_session import SIZE, Figures, Session, compose, shown
from tests.bench.window_taps import taps

SPANS = {"full view": None, "60 s": 60.0, "10 s": 10.0, "1 s": 1.0}


def measure(folder: Path, minutes: float, hours: float) -> dict[str, Any]:
    """Make the takes in a folder and measure everything."""
    notes = compose(60 * minutes)
    midi, audio = folder / "take.mid", folder / "take.wav"
    render.write_midi(midi, notes)
    render.write_audio(audio, notes, 60 * minutes)
    figures: dict[str, Any] = {"minutes": minutes}
    with shown(folder) as window:
        for name, path in (("MIDI", midi), ("WAV", audio)):
            figures[name] = measure_take(Session(window, path, notes), SPANS)
    if hours:
        long, much = folder / "long.flac", compose(3600 * hours)
        render.write_audio(long, much, 3600 * hours)
        with shown(folder) as window:
            spans = {name: SPANS[name] for name in ("full view", "60 s")}
            figures["long"] = {"hours": hours, **measure_take(Session(window, long, much), spans)}
    figures["reference"] = reference(
        audio, size=SIZE, spans=SPANS, lines=len(notes[0]) // 8, frames=window_session.FRAMES
    )
    return figures


def measure_take(session: Session, spans: dict[str, float | None]) -> dict[str, Any]:
    """All figures of one take."""
    found: dict[str, Any] = {"open to first picture": session.first_pictures(), **session.open()}
    found["repaint"] = {name: session.repaints(length) for name, length in spans.items()}
    found["drag, per move"], found["release to new bars"] = session.drags()
    found["bar stack, repaint"], found["bar stack, per move"] = session.stack()
    found["tap to its mark"], found["end of taps to lines"] = taps(session)
    session.workspace.close_take()
    return found


def show(figures: dict[str, Any]) -> None:
    """Print the figures as a table."""
    columns = {"MIDI": figures["MIDI"], "WAV": figures["WAV"]}
    if "long" in figures:
        columns[f"{figures['long']['hours']:g} h FLAC"] = figures["long"]
    print(f"{figures['minutes']:g} minutes; timeline {SIZE[0]} x {SIZE[1]}; ms, median and 95th percentile")
    print(f"{'':<26}" + "".join(f"{name:>18}" for name in columns))
    for key in ("bars", "until bars, s"):
        print(f"{key:<26}" + "".join(f"{found[key]:>18.4g}" for found in columns.values()))
    for name in SPANS:
        _row(f"repaint, {name}", [found["repaint"].get(name) for found in columns.values()])
    for key in figures["MIDI"]:
        if isinstance(figures["MIDI"][key], dict) and key != "repaint":
            _row(key, [found[key] for found in columns.values()])
    print("\nBeside it, the waveform of the same take:")
    for label, found in figures["reference"].items():
        for name, cell in found.items():
            _row(f"{label}, {name}", [cell])


def _row(label: str, cells: list[Figures | None]) -> None:
    texts = [f"{cell['median']:8.1f} {cell['p95']:8.1f}" if cell else "" for cell in cells]
    print(f"{label:<26}" + "".join(f"{text:>18}" for text in texts))


def main(argv: list[str] | None = None) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(
        prog="window", description="Time painting, answers and opening in the window."
    )
    parser.add_argument("--minutes", type=float, default=10.0, metavar="M", help="length of the take (10)")
    parser.add_argument("--hours", type=float, default=2.0, metavar="H", help="a long audio take; 0 for none (2)")
    parser.add_argument("--processor", action="store_true", help="time painting by the processor, not the wall")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    if not args.minutes >= 2 or not args.hours >= 0:
        parser.error("--minutes must be at least 2, --hours at least 0.")
    if args.processor:
        window_session.clock = time.thread_time
    with tempfile.TemporaryDirectory() as scratch:
        figures = measure(Path(scratch), args.minutes, args.hours)
    print(json.dumps(figures, indent=1)) if args.json else show(figures)
    return 0


if __name__ == "__main__":
    sys.exit(main())
