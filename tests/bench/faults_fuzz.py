"""Feed damaged files to every reader: how many, what crashed or hung it, the worst time and memory of one file.

A reader must end in a value or in a sentence (`core.errors`), within 5 s of processor time and 512 MB of memory.
Each runs in a process of its own, so that a crash of a library below it is seen too. With the package atheris the
damage is guided by the lines it reaches (libFuzzer); without, by the refusals it gets.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from tests.bench.corpus import default_corpus
from tests.bench.fuzz_targets import TARGETS

SLACK = 600.0
"""Seconds a process may take beside its time, on a busy machine, to load and to end."""


def run(
    *,
    seconds: float = 30.0,
    seed: int = 1,
    only: Sequence[str] = (),
    guided: bool | None = None,
    keep: Path | None = None,
) -> dict[str, Any]:
    """Fuzz every reader for some time.

    Parameters
    ----------
    seconds : float
        For each reader.
    seed : int
        Of the damage.
    only : sequence of str
        Readers by name; all when empty.
    guided : bool or None
        Whether to be guided by coverage; None: where atheris is installed.
    keep : Path or None
        A folder that gets the files behind every finding.

    Returns
    -------
    dict
        ``executions``, ``crashes``, ``hangs``, ``worst_seconds``, ``worst_megabytes``, ``guided``, ``readers``
        with the same of each, and ``findings``.
    """
    able = find_spec("atheris") is not None
    if guided and not able:
        raise SystemExit("There is no package atheris here: install it, or leave out --guided.")
    guided = able if guided is None else guided
    if not able:
        print("The damage is not guided by coverage: the package atheris is not installed.", file=sys.stderr)
    readers: dict[str, dict[str, Any]] = {}
    findings: list[dict[str, str]] = []
    with tempfile.TemporaryDirectory() as scratch:
        for name in only or TARGETS:
            folder = Path(scratch) / name
            seeds = _sow(name, folder)
            if not seeds:
                print(f"{name}: left out, as the package that writes such files is missing.", file=sys.stderr)
                continue
            readers[name] = _fuzz(name, folder, seconds, seed, guided)
            findings += readers[name].pop("findings")
            if keep is not None:
                _keep(folder, keep / name)
    kinds = [finding["kind"] for finding in findings]
    return {
        "executions": sum(reader["executions"] for reader in readers.values()),
        "crashes": sum(kind in ("crash", "died", "sentence") for kind in kinds),
        "hangs": sum(kind in ("hang", "memory") for kind in kinds),
        "worst_seconds": max((reader["worst_seconds"] for reader in readers.values()), default=0.0),
        "worst_megabytes": max((reader["worst_megabytes"] for reader in readers.values()), default=0.0),
        "guided": guided,
        "readers": readers,
        "findings": findings,
    }


def _sow(name: str, folder: Path) -> list[bytes]:
    corpus = default_corpus()
    seeds = TARGETS[name].seeds(corpus if corpus.is_dir() else None)
    (folder / "seeds").mkdir(parents=True)
    for i, data in enumerate(seeds):
        (folder / "seeds" / f"{i:03}").write_bytes(data)
    return seeds


def _fuzz(name: str, folder: Path, seconds: float, seed: int, guided: bool) -> dict[str, Any]:
    """One reader, in a process that is started again after each file that killed it."""
    total = {"executions": 0, "worst_seconds": 0.0, "worst_megabytes": 0.0}
    findings: list[dict[str, str]] = []
    stats, ending = folder / "stats.json", TARGETS[name].ending

    def feed(left: float, number: int, *how: str) -> None:
        stats.unlink(missing_ok=True)
        died = _child(name, folder, left, number, *how)
        if stats.is_file():
            one = json.loads(stats.read_text(encoding="utf-8"))
            total["executions"] += one["executions"]
            for worst in ("worst_seconds", "worst_megabytes"):
                total[worst] = max(total[worst], one[worst])
        if died is not None:
            where = folder / f"died-{len(findings)}{ending}"
            shutil.copyfile(folder / f"input{ending}", where)
            findings.append({"reader": name, "file": where.name, **died})

    # First what was made to cost much, where nothing else slows the reader down.
    feed(0.0, seed, "--bombs")
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0.5:
        feed(left, seed, *(["--guided"] if guided else []))
        seed += 1
    kept = folder / "findings.jsonl"
    lines = kept.read_text(encoding="utf-8").splitlines() if kept.is_file() else []
    findings += [{"reader": name, **json.loads(line)} for line in lines]
    return {**total, "findings": findings}


def _child(name: str, folder: Path, seconds: float, seed: int, *how: str) -> dict[str, str] | None:
    command = [sys.executable, "-m", "tests.bench.fuzz_child", name, str(folder)]
    command += ["--seconds", f"{seconds:.1f}", "--seed", str(seed), *how]
    try:
        ended = subprocess.run(
            command,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "OMP_NUM_THREADS": "1"},
            capture_output=True,
            timeout=seconds + SLACK,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return {"kind": "hang", "what": "it had to be killed", "details": ""}
    if ended.returncode == 0:
        return None
    words = ended.stderr.decode(errors="replace")
    kind = "hang" if "Timeout" in words else "died"
    return {"kind": kind, "what": f"the process ended with {ended.returncode}", "details": words[-3000:]}


def _keep(folder: Path, target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    for path in folder.iterdir():
        if path.is_file():
            shutil.copyfile(path, target / path.name)


def show(figures: dict[str, Any]) -> None:
    """Print a table."""
    print(f"{'reader':<10}{'files':>10}{'worst s':>10}{'worst MB':>10}")
    for name, reader in (*figures["readers"].items(), ("all", figures)):
        print(
            f"{name:<10}{reader['executions']:>10}{reader['worst_seconds']:>10.2f}{reader['worst_megabytes']:>10.0f}"
        )
    print(f"crashes {figures['crashes']}, hangs {figures['hangs']}, guided by coverage: {figures['guided']}")
    for finding in figures["findings"]:
        print(f"{finding['reader']}: {finding['kind']}, {finding['what']} ({finding['file']})")
        print(finding["details"])


def main(argv: list[str] | None = None) -> int:
    """Fuzz and print; 1 where anything was found."""
    parser = argparse.ArgumentParser(prog="faults_fuzz", description="Feed damaged files to every reader.")
    parser.add_argument("--seconds", type=float, default=30.0, help="for each reader (30)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="+", choices=tuple(TARGETS), default=(), help="readers by name")
    parser.add_argument("--guided", action=argparse.BooleanOptionalAction, help="by coverage, with atheris")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="keep the files behind what is found")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    figures = run(seconds=args.seconds, seed=args.seed, only=args.only, guided=args.guided, keep=args.keep)
    print(json.dumps(figures, indent=1)) if args.json else show(figures)
    return 1 if figures["findings"] else 0


if __name__ == "__main__":
    sys.exit(main())
