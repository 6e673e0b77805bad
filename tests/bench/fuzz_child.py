"""The process that feeds damaged files to one reader: it may crash or hang, and its parent sees which file did it.

With the package atheris the damage is guided by the lines of ``core`` it reaches; else by the refusals it gets.
"""

from __future__ import annotations

import argparse
import faulthandler
import hashlib
import json
import random
import re
import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

from tests.bench.fuzz_bombs import bombs
from tests.bench.fuzz_damage import MOST, damage

SECONDS, MEGABYTES = 5.0, 512.0
"""What reading one file may take: of processor time, and of memory beside what the process has anyway."""

_PATIENCE = 120.0
"""Seconds on the clock after which a file hangs its reader, however busy the machine is."""

_POOL = 400


class Feeder:
    """Reads one file after another and keeps the score in a folder.

    Parameters
    ----------
    name : str
        One of `tests.bench.fuzz_targets.TARGETS`.
    folder : Path
        Gets ``input``, the file being read; ``stats.json``; and a file for each finding.
    watched : bool
        Whether atheris sees which lines run; that makes them several times as slow.
    """

    def __init__(self, name: str, folder: Path, *, watched: bool = False) -> None:
        with _watched() if watched else nullcontext():
            from tests.bench.fuzz_targets import TARGETS  # noqa: PLC0415 - watched from the first line on
        from core.errors import BarwrightError  # noqa: PLC0415

        self._target, self._refusals = TARGETS[name], BarwrightError
        self._folder = folder
        self._input = folder / f"input{self._target.ending}"
        self.stats = {"executions": 0, "worst_seconds": 0.0, "worst_megabytes": 0.0}
        self._found: set[str] = set()
        self._told = 0.0

    def feed(self, data: bytes) -> str:
        """Read one file; return in short how that ended."""
        self._input.write_bytes(data)
        faulthandler.dump_traceback_later(_PATIENCE, exit=True)
        before, begin = _memory(), time.process_time()
        try:
            self._target.read(self._input)
            ended = "read"
        except self._refusals as error:
            ended = self._refused(error, data)
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            ended = f"{type(error).__name__} in {Path(where.filename).name} {where.lineno}"
            self._keep(data, "crash", ended, traceback.format_exc())
        seconds, megabytes = time.process_time() - begin, _peak() - before
        faulthandler.cancel_dump_traceback_later()
        if seconds > SECONDS:
            self._keep(data, "hang", f"{ended}: {seconds:.1f} s", "")
        if megabytes > MEGABYTES:
            self._keep(data, "memory", f"{ended}: {megabytes:.0f} MB", "")
        self._count(seconds, megabytes, data)
        return ended

    def _refused(self, error: Exception, data: bytes) -> str:
        sentence = str(error).replace(str(self._input), "FILE")
        if not sentence.endswith(".") or "\n" in sentence or len(sentence) > 400:
            self._keep(data, "sentence", f"{type(error).__name__} is no sentence", repr(sentence[:500]))
        return f"{type(error).__name__} {re.sub(r'[0-9.]+', '#', sentence)[:60]}"

    def _count(self, seconds: float, megabytes: float, data: bytes) -> None:
        stats = self.stats
        stats["executions"] += 1
        if seconds > stats["worst_seconds"]:
            (self._folder / f"slowest{self._target.ending}").write_bytes(data)
        if megabytes > stats["worst_megabytes"]:
            (self._folder / f"largest{self._target.ending}").write_bytes(data)
        stats["worst_seconds"] = max(seconds, stats["worst_seconds"])
        stats["worst_megabytes"] = max(megabytes, stats["worst_megabytes"])
        if time.monotonic() - self._told > 0.5:
            self._told = time.monotonic()
            self.tell()

    def tell(self) -> None:
        """Write the score."""
        half = self._folder / "stats.half"
        half.write_text(json.dumps(self.stats), encoding="utf-8")
        half.replace(self._folder / "stats.json")

    def _keep(self, data: bytes, kind: str, what: str, details: str) -> None:
        # A time and an amount differ from file to file; one file of a sort is enough.
        sort = re.sub(r"[0-9.]+ (s|MB)$", "", f"{kind} {what}")
        if sort in self._found:
            return
        self._found.add(sort)
        name = f"{kind}-{hashlib.sha256(data).hexdigest()[:12]}"
        (self._folder / f"{name}{self._target.ending}").write_bytes(data)
        with (self._folder / "findings.jsonl").open("a", encoding="utf-8") as file:
            file.write(json.dumps({"kind": kind, "what": what, "file": name, "details": details[-3000:]}) + "\n")


@contextmanager
def _watched() -> Iterator[None]:
    """Load `core` so that atheris sees which lines run."""
    import atheris  # noqa: PLC0415 - optional

    with atheris.instrument_imports(include=["core"], enable_loader_override=False):
        yield


def _memory() -> float:
    """Megabytes that the process has now, and begin to measure the most it has (proc(5), on Linux alone)."""
    try:
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    except OSError:
        return 0.0
    return _status("VmRSS")


def _peak() -> float:
    return _status("VmHWM")


def _status(name: str) -> float:
    try:
        status = Path("/proc/self/status").read_text(encoding="ascii")
    except OSError:
        return 0.0
    return int(status.split(f"{name}:")[1].split()[0]) / 1024


def _limit() -> None:
    """Keep a reader that asks for all memory from taking the machine down."""
    try:
        import resource  # noqa: PLC0415 - not on Windows
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_DATA, (4 << 30, 4 << 30))


def unguided(feeder: Feeder, seeds: list[bytes], seconds: float, chance: random.Random) -> None:
    """Damage whole files, and files that were refused in a new way, until the time is over."""
    pool, seen = list(seeds), set()
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        data = damage(chance.choice(pool), seeds, chance)
        ended = feeder.feed(data)
        if ended not in seen and len(data) < MOST // 2:
            seen.add(ended)
            pool = [*pool, data] if len(pool) < _POOL else pool
    feeder.tell()


def guided(feeder: Feeder, seeds: list[bytes], seconds: float, seed: int, folder: Path) -> None:
    """Let libFuzzer choose what to damage by the lines it reaches; ends the process."""
    import atheris  # noqa: PLC0415 - optional

    corpus = folder / "corpus"
    corpus.mkdir(exist_ok=True)
    for data in seeds:
        (corpus / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)

    def mutate(data: bytes, most: int, number: int) -> bytes:
        chance = random.Random(number)
        if chance.random() < 0.4:
            return bytes(atheris.Mutate(data, most))
        return damage(data, seeds, chance)[:most]

    end = time.monotonic() + seconds

    def one(data: bytes) -> None:
        feeder.feed(data)
        if time.monotonic() > end:
            feeder.tell()

    options = (
        *(f"-max_total_time={max(round(seconds), 1)}", f"-seed={seed}", f"-max_len={MOST}", "-len_control=0"),
        *("-timeout=120", "-rss_limit_mb=0", "-verbosity=0", f"-artifact_prefix={folder}/"),
    )
    atheris.Setup([sys.argv[0], *options, str(corpus)], one, custom_mutator=mutate)
    atheris.Fuzz()


def main() -> None:
    """Feed until the time is over."""
    parser = argparse.ArgumentParser(prog="fuzz_child")
    parser.add_argument("target")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, required=True)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--guided", action="store_true")
    parser.add_argument("--bombs", action="store_true", help="only those")
    args = parser.parse_args()
    feeder = Feeder(args.target, args.folder, watched=args.guided)
    seeds = [path.read_bytes() for path in sorted((args.folder / "seeds").iterdir())]
    _limit()
    if args.bombs:
        for data in bombs(args.target):
            feeder.feed(data)
            feeder.tell()
        return
    for data in seeds:
        feeder.feed(data)
    if args.guided:
        guided(feeder, seeds, args.seconds, args.seed, args.folder)
    else:
        unguided(feeder, seeds, args.seconds, random.Random(args.seed))


if __name__ == "__main__":
    main()
