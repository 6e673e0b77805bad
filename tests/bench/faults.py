"""Faults of every kind, and what they cost: ``python -m tests.bench.faults``.

Parts: ``kills`` (`tests.bench.faults_kills`), ``loops`` (`tests.bench.faults_loops`), ``fuzz``
(`tests.bench.faults_fuzz`) and ``soak`` (`tests.bench.soak`), what the last three count under names that begin
with theirs.
Exit status: 0 nothing was lost or went wrong, 1 something did.
"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from tests.bench import faults_fuzz, faults_kills, faults_loops, soak


def _kills(given: argparse.Namespace) -> dict[str, Any]:
    return faults_kills.run(kills=given.kills, jobs=given.jobs, seed=given.seed)


def _loops(_: argparse.Namespace) -> dict[str, Any]:
    return {f"loops_{name}": value for name, value in faults_loops.run().items()}


def _fuzz(given: argparse.Namespace) -> dict[str, Any]:
    return {
        f"fuzz_{name}": value for name, value in faults_fuzz.run(seconds=given.seconds, seed=given.seed).items()
    }


def _soak(given: argparse.Namespace) -> dict[str, Any]:
    return {f"soak_{name}": value for name, value in soak.run(minutes=given.minutes, seed=given.seed).items()}


PARTS = {"kills": _kills, "loops": _loops, "fuzz": _fuzz, "soak": _soak}
WRONG = (
    "gestures_lost",
    "unreadable",
    "failures",
    "loops_wrong",
    "fuzz_findings",
    "soak_faults",
    "soak_leaks",
)
"""What is to be nothing."""


def main(arguments: list[str] | None = None) -> int:
    """Run the parts that were asked for, and print what they counted."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.faults", description=__doc__)
    parser.add_argument("--part", choices=PARTS, action="append", help="only this one; may be repeated")
    parser.add_argument("--kills", type=int, default=200, help="how often the session is killed (200)")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once (2)")
    parser.add_argument("--seconds", type=float, default=30.0, help="to feed each reader damaged files (30)")
    parser.add_argument("--minutes", type=float, default=10.0, help="to use the window for the soak (10)")
    parser.add_argument("--seed", type=int, default=1, help="of everything random (1)")
    parser.add_argument("--json", action="store_true", help="print one object")
    given = parser.parse_args(arguments)
    told: dict[str, Any] = {}
    for name in given.part or PARTS:
        told |= PARTS[name](given)
    if given.json:
        print(json.dumps(told))
    else:
        for name, value in told.items():
            print(f"{name.replace('_', ' ')}: {value}")
    return int(any(told.get(name) for name in WRONG))


if __name__ == "__main__":
    sys.exit(main())
