"""Kill a session at random moments, start it again, and count what is missing.

Each kill is a SIGKILL (on Windows TerminateProcess) of the window while gestures are being made, or while
it is starting and taking the work of the kill before back. The next start recovers, and is the next to be killed.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from core.errors import InputError
from core.project_file import is_project, read_project
from tests.app.takes import play_midi

CHAIN = 20
"""Kills of one session, one after another, before a new one begins."""

EARLY = 0.2
"""Share of the kills while the app is starting."""

STARTING, WORKING, PATIENCE = 3.0, 1.2, 120.0
"""Seconds from the start, and from the first gesture, within which a kill comes; and that a start may take."""

Work = dict[str, Any]


@dataclass
class Count:
    """What happened."""

    kills: int = 0
    kills_while_starting: int = 0
    kills_in_a_gesture: int = 0
    gestures: int = 0
    gestures_lost: int = 0
    in_flight_kept: int = 0
    unreadable: int = 0
    offers: int = 0
    failures: list[str] = field(default_factory=list)
    left_over: int = 0


def run(*, kills: int = 200, jobs: int = 1, seed: int = 1, **_: object) -> dict[str, Any]:
    """Kill so many times.

    Parameters
    ----------
    kills : int
        How often.
    jobs : int
        Sessions at once.
    seed : int
        Of the moments and gestures.
    """
    begin = time.monotonic()
    longest = max(min(CHAIN, -(-kills // max(jobs, 1))), 1)
    lengths = [min(longest, kills - done) for done in range(0, kills, longest)]
    with tempfile.TemporaryDirectory(prefix="kills-") as folder, ThreadPoolExecutor(max(jobs, 1)) as pool:
        chains = [
            pool.submit(_chain, Path(folder) / str(i), length, 1000 * seed + i) for i, length in enumerate(lengths)
        ]
        counts = [chain.result() for chain in chains]
    numbers = {name for name, value in vars(Count()).items() if isinstance(value, int)}
    return {
        **{name: sum(getattr(count, name) for count in counts) for name in sorted(numbers)},
        "failures": [failure for count in counts for failure in count.failures],
        "seconds": round(time.monotonic() - begin, 1),
    }


def _chain(home: Path, kills: int, seed: int) -> Count:
    """One session: killed so many times, and then let end by itself."""
    home.mkdir()
    play_midi(home / "evening.mid", phrases=2)
    told = home / "told.jsonl"
    told.touch()
    chance, count = random.Random(seed), Count()
    last: Work | None = None
    for i in range(kills + 1):
        seen = told.stat().st_size
        process = _start(home, told, 0 if i == kills else chance.randrange(1, 2**31))
        early = i > 0 and chance.random() < EARLY
        try:
            if i == kills:
                process.wait(PATIENCE)
            else:
                _kill(process, told, seen, chance, early=early, count=count)
        finally:
            if process.poll() is None:
                process.kill()
            process.wait()
        last = _judge(_lines(told, seen), last, count)
        _look_at_files(home, count)
    count.left_over += len(list(home.glob(".*.part"))) + len(list(home.glob(".*.before")))
    return count


def _start(home: Path, told: Path, seed: int) -> subprocess.Popen[bytes]:
    places = {name: str(home / name) for name in ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}
    arguments = [home / "evening.mid", home / "evening.barwright", told, seed]
    return subprocess.Popen(
        [sys.executable, "-m", "tests.bench.kill_session", *map(str, arguments)],
        env={**os.environ, **places, "QT_QPA_PLATFORM": "offscreen"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def _kill(
    process: subprocess.Popen[bytes], told: Path, seen: int, chance: random.Random, *, early: bool, count: Count
) -> None:
    if early:
        time.sleep(chance.uniform(0, STARTING))
    else:
        end = time.monotonic() + PATIENCE
        while b'"begin"' not in told.read_bytes()[seen:] and process.poll() is None and time.monotonic() < end:
            time.sleep(0.02)
        time.sleep(chance.uniform(0, WORKING))
    if process.poll() is None:
        process.kill()
        count.kills += 1
        count.kills_while_starting += early
    else:
        count.failures.append(f"It ended by itself with {process.returncode}.")


def _lines(told: Path, seen: int) -> list[dict[str, Any]]:
    lines = told.read_bytes()[seen:].split(b"\n")
    return [json.loads(line) for line in lines[:-1]]


def _judge(lines: list[dict[str, Any]], before: list[Work] | None, count: Count) -> list[Work] | None:
    """Compare what came back with what was told before the kill; return what this run told, for the next.

    The first of a run is the work that came back; a gesture that had begun and not returned may be in it.
    """
    count.failures += [line["error"] for line in lines if "error" in line]
    back = next((line["back"] for line in lines if "back" in line), None)
    if back is None:
        return before  # killed before it had come back
    count.offers += any(line.get("offered", False) for line in lines)
    if before is not None:
        *known, latest = before
        if not _same(back, latest):
            if latest.get("begun") and _one_more(latest, back):
                count.in_flight_kept += 1
            else:
                count.gestures_lost += _steps_back(known, back)
    works = [back]
    for line in lines:
        if "done" in line:
            works.append(line["done"])
            count.gestures += 1
        elif "begin" in line:
            works[-1] = {**works[-1], "begun": line["begin"]}
    if works[-1].get("begun"):
        count.kills_in_a_gesture += 1
    return works


def _same(one: Work, other: Work) -> bool:
    return all(one[name] == other[name] for name in ("at", "chain", "document"))


def _one_more(before: Work, after: Work) -> bool:
    """Whether a work is another after one edit, undo or redo."""
    at = before["at"]
    done = after["chain"][:-1] == before["chain"][: at + 1] and after["at"] == at + 1
    went = after["chain"] == before["chain"] and abs(after["at"] - at) == 1
    return bool(done or went)


def _steps_back(known: list[Work], back: Work) -> int:
    """How many gestures are missing where an earlier work came back; all where none did."""
    for steps, work in enumerate(reversed(known), 1):
        if _same(work, back):
            return steps
    return len(known) + 1


def _look_at_files(home: Path, count: Count) -> None:
    """What lies on disk right after a kill can be read."""
    for path in filter(is_project, home.iterdir()):
        try:
            read_project(path)
        except InputError as error:
            count.unreadable += 1
            count.failures.append(str(error))
    aside = list(home.rglob("*.unreadable"))
    count.unreadable += len(aside)
    for path in aside:
        path.unlink()
