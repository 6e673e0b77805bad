"""How well hesitations are found in the examples, whose stops are known from the code that played them.

    python -m tests.bench.pauses [--audio] [--json]

A hesitation is found when both its ends are within 100 ms of the truth. All of those found are tightened; then
every true bar line, mapped through the cuts, is compared with the bars of what is heard, and in sound every seam
with the recording around it. With --audio the piano takes are rendered and heard as sound too.
Exit status: 0 measured.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from core.cutting import tighten
from core.document import Document
from core.edited_grid import edited_grid
from core.edited_sound import FADE, EditedSound
from core.find_onsets import find_onsets
from core.hesitations import find_hesitations
from core.metre import Metre, TimeSignature
from core.passages import Passages
from core.quiet_place import Loudness, NoteLevel, SoundLevel
from core.read_csv import read_bar_times, read_pins
from core.read_take import read_take
from core.sampled import SampledSound
from core.take import MidiTake
from core.tracker import Tracker
from examples.low_tide import low_tide
from examples.make import render
from examples.night_ferry import night_ferry

EXAMPLES = Path(__file__).parents[2] / "examples"
WITHIN = 0.1
METRES = {
    "low-tide": Metre(
        ((1, TimeSignature(4, 4)), (72, TimeSignature(3, 4)), (144, TimeSignature(4, 4))), Fraction(1)
    ),
    "net-mending": Metre.steady(TimeSignature(3, 4)),
    "night-ferry": Metre.steady(TimeSignature(6, 8)),
}


def measure(path: Path) -> dict[str, Any]:
    """Figures of one take of an example's name."""
    take = read_take(path)
    onsets = find_onsets(take)
    grid = Tracker(onsets, METRES[path.stem]).grid(read_pins(EXAMPLES / f"{path.stem}.pins.csv"))
    found, true = find_hesitations(onsets, grid), _truth(path.stem)
    right = [
        (one, saved)
        for start, end, saved in true
        for one in found
        if abs(one.start - start) <= WITHIN and abs(one.end - end) <= WITHIN
    ]
    told: dict[str, Any] = {
        "take": path.name,
        "pauses": len(true),
        "found": len(found),
        "precision": len(right) / len(found) if found else None,
        "recall": len(right) / len(true) if true else None,
        "saves_s": round(sum(one.saves for one in found), 1),
        "true_s": round(sum(saved for *_, saved in true), 1),
    }
    if found:
        sound = None if isinstance(take, MidiTake) else SampledSound.of(take)
        level: Loudness = NoteLevel(take) if isinstance(take, MidiTake) else SoundLevel(sound)  # type: ignore[arg-type]
        arrangement = tighten(found, level).apply(Document()).arrangement
        passages = arrangement.heard(take.duration)
        lines = {line.bar: line.time for line in edited_grid(grid, arrangement, take.duration).grid.bar_lines}
        bars = read_bar_times(EXAMPLES / f"{path.stem}.bars.csv")
        wanted = passages.to_take([time for _, time in bars])
        off = [abs(lines[bar] - time) for (bar, _), time in zip(bars, wanted, strict=True) if bar in lines]
        told |= {"worst_bar_ms": round(1000 * max(off), 1), "within_10_ms": sum(one <= 0.01 for one in off)}
        told |= {"bars": len(bars)}
        if sound is not None:
            told["loudest_step"] = round(_steps(sound, passages), 3)
    return told


def _steps(sound: SampledSound, passages: Passages) -> float:
    """Largest step from sample to sample at any seam, as a share of the largest in the recording around it."""
    edited, rate = EditedSound(sound, passages), sound.rate
    half, around = round(FADE * rate), rate // 5
    worst = 0.0
    for time, before, after in zip(passages.joints[1:], passages.parts, passages.parts[1:], strict=False):
        seam = round(float(time) * rate)
        step = float(np.abs(np.diff(edited.read(seam - half, seam + half), axis=0)).max())
        places = (round(before.end * rate), round(after.start * rate))
        own = max(np.abs(np.diff(sound.read(at - around, at + around), axis=0)).max() for at in places)
        worst = max(worst, step / float(own))
    return worst


def _truth(name: str) -> list[tuple[float, float, float]]:
    path = EXAMPLES / f"{name}.pauses.csv"
    if not path.exists():
        return []
    with path.open(newline="", encoding="utf-8") as file:
        return [
            (float(row["start_s"]), float(row["end_s"]), float(row["saved_s"])) for row in csv.DictReader(file)
        ]


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="How well hesitations are found in the examples.")
    parser.add_argument("--audio", action="store_true", help="hear the piano takes as sound, too")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    given = parser.parse_args()
    told = [measure(EXAMPLES / name) for name in ("low-tide.mid", "night-ferry.mid", "net-mending.ogg")]
    if given.audio:
        with tempfile.TemporaryDirectory() as folder:
            for piece in (low_tide(), night_ferry()):
                path = Path(folder) / f"{piece.name}.wav"
                render(piece, path)
                told.append(measure(path))
    if given.json:
        print(json.dumps({"takes": told}))
    else:
        for figures in told:
            print(", ".join(f"{name} {value}" for name, value in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
