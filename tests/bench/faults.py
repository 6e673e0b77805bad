"""Faults of every kind, and what they cost: ``python -m tests.bench.faults``.

Parts: ``kills`` (`tests.bench.faults_kills`). Exit status: 0 nothing lost, 1 something was.
"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from tests.bench import faults_kills

PARTS = {"kills": faults_kills.run}


def main(arguments: list[str] | None = None) -> int:
    """Run the parts that were asked for, and print what they counted."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.faults", description=__doc__)
    parser.add_argument("--part", choices=PARTS, action="append", help="only this one; may be repeated")
    parser.add_argument("--kills", type=int, default=200, help="how often the session is killed (200)")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once (2)")
    parser.add_argument("--seed", type=int, default=1, help="of everything random (1)")
    parser.add_argument("--json", action="store_true", help="print one object")
    given = parser.parse_args(arguments)
    told: dict[str, Any] = {}
    for name in given.part or PARTS:
        told |= PARTS[name](kills=given.kills, jobs=given.jobs, seed=given.seed)
    if given.json:
        print(json.dumps(told))
    else:
        for name, value in told.items():
            print(f"{name.replace('_', ' ')}: {value}")
    return int(bool(told.get("gestures_lost") or told.get("unreadable") or told.get("failures")))


if __name__ == "__main__":
    sys.exit(main())
