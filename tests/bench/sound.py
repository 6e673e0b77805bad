"""How exactly sound and picture go together, measured on a virtual card: `python -m tests.bench.sound`.

A take of short sounds at irregular, known times is played on the left and the click, at the same times, on the
right. The card's output is recorded. Meanwhile the process of the window stands still for 200 ms in every second.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from contextlib import nullcontext
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import soundfile
from PySide6.QtCore import QCoreApplication

from app.sound.burst import burst
from app.sound.clicks import BAR, BEAT, Clicks
from app.sound.clock import now
from app.sound.mix import Mix
from app.sound.player import Player
from core.read_take import read_take
from tests.app.sound.virtual_card import RATE, Recorded, missing, pulse, recording

STALL, EVERY = 0.2, 1.0

PITCH = 1000.0

HELD = 500
"""Hertz of a quiet tone that fills the take, in which a gap shows."""


def take_of(path: Path, seconds: float, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """Write a take with a sound at irregular times over a steady quiet tone; return the times and the sound."""
    rng = np.random.default_rng(seed)
    times = np.cumsum(rng.uniform(0.3, 0.9, int(seconds / 0.3)))
    frames = np.rint(times[times < seconds - 0.5] * RATE).astype(int)
    sound = burst(BAR, PITCH, RATE)
    wave = np.tile(0.02 * np.sin(2 * np.pi * HELD * np.arange(RATE) / RATE), int(np.ceil(seconds)))
    for frame in frames:
        wave[frame : frame + len(sound)] += 0.5 * sound
    soundfile.write(path, wave, RATE, subtype="FLOAT")
    return frames / RATE, sound


def found(row: np.ndarray, sound: np.ndarray, near: int, reach: int) -> float:
    """Sample at which a sound begins, by correlation, between samples by a parabola."""
    start = max(near - reach, 0)
    part = row[start : near + reach + len(sound)]
    match = np.correlate(part, sound, mode="valid")
    i = int(np.argmax(match))
    if not 0 < i < len(match) - 1:
        return float("nan")
    before, at, after = match[i - 1 : i + 2]
    return start + i + 0.5 * (before - after) / (before - 2 * at + after)


def gaps(row: np.ndarray) -> int:
    """Places where the steady tone breaks off for a millisecond or more."""
    quiet = np.abs(row) < 1e-4
    edges = np.flatnonzero(np.diff(np.concatenate([[0], quiet.astype(np.int8), [0]])))
    return int(np.sum(edges[1::2] - edges[::2] >= RATE // 1000))


def measure(
    minutes: float, *, stalls: bool = True, speed: float = 1.0, card: subprocess.Popen | None = None
) -> dict[str, float]:
    """Play, record and compare; `card` where a virtual card is there already."""
    app = QCoreApplication.instance() or QCoreApplication(sys.argv)
    seconds = 60 * minutes
    with tempfile.TemporaryDirectory() as folder, nullcontext(card) if card else pulse():
        times, sound = take_of(Path(folder, "take.wav"), seconds + 2)
        player = Player()
        player.message.connect(lambda message: print(message.text, file=sys.stderr))
        player.load(read_take(Path(folder, "take.wav")))
        player.set_mix(Mix(take=0.0, click=0.0, apart=True, pitch=PITCH))
        player.set_clicks(Clicks(times, np.where(np.arange(len(times)) % 4, BEAT, BAR)))
        heard: list[tuple[float, float]] = []
        with recording(Path(folder, "out.raw")) as got:
            player.play(0.0, seconds, speed=speed)
            while not heard or player.playing:
                app.processEvents()
                moment = now()
                at = player.take_time(moment)
                if at is not None:
                    heard.append((moment, at))
                elif not player.playing:
                    break
                if stalls and moment % EVERY < 0.1:
                    _stall()
                time.sleep(0.01)
            time.sleep(0.5)
        missed = player.missed
        player.close()
        return compare(got[0], times[times < seconds - 0.1], sound, np.array(heard), speed) | {"missed": missed}


def _stall() -> None:
    """Keep Python busy, as a long calculation in the window does."""
    end = time.monotonic() + STALL
    while time.monotonic() < end:
        pass


def compare(
    got: Recorded, times: np.ndarray, sound: np.ndarray, heard: np.ndarray, speed: float
) -> dict[str, float]:
    """Click against take in the recording, and the playhead against what was recorded, in milliseconds."""
    left, right = got.rows.T.astype(np.float64)
    # The playhead says when each sound should be heard; that is where it is looked for.
    moments = np.interp(times, heard[:, 1], heard[:, 0])
    take, click, head = [], [], []
    bar, beat = (burst(kind, PITCH, RATE).astype(np.float64) for kind in (BAR, BEAT))
    for i, moment in enumerate(moments):
        near = round((moment - float(np.median(got.zero))) * RATE)
        a = found(left, sound.astype(np.float64), near, RATE // 10)
        b = found(right, beat if i % 4 else bar, near, RATE // 10)
        take.append(a)
        click.append(b)
        head.append(got.moment(b) - moment)
    apart = 1000 * (np.array(click) - np.array(take)) / RATE
    late = 1000 * np.array(head)
    # Steps of the take against those of the recording, in which a gap would show too.
    steps = 1000 * (np.diff(click) / RATE - np.diff(times) / speed)
    first, last = int(np.nanmin(take)), int(np.nanmax(take))
    return {
        "sounds": len(times),
        "click_offset_ms": float(np.nanmedian(apart)),
        "click_spread_ms": float(np.nanstd(apart)),
        "step_worst_ms": float(np.nanmax(np.abs(steps))),
        "playhead_ms": float(np.nanmedian(late)),
        "playhead_spread_ms": float(np.nanstd(late)),
        "playhead_worst_ms": float(np.nanmax(np.abs(late))),
        "playhead_worst_after_10_s_ms": float(np.nanmax(np.abs(late[times > 10.0 * speed]), initial=0.0)),
        "not_found": int(np.isnan(apart).sum()),
        "gaps": gaps(left[first + RATE // 10 : last]) if speed == 1.0 else -1,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, default=0.5)
    parser.add_argument("--speed", type=float, default=1.0)
    parser.add_argument("--json", action="store_true", help="one object")
    given = parser.parse_args()
    if why := missing():
        sys.exit(why)
    result = measure(given.minutes, speed=given.speed)
    if given.json:
        print(json.dumps(result))
        return
    for name, value in result.items():
        print(f"{name:30} {value:.3f}" if isinstance(value, float) else f"{name:30} {value}")


if __name__ == "__main__":
    main()
