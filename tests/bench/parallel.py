"""Work on the takes of a corpus side by side, and figures as JSON can hold them."""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import Any

from tests.bench.corpus import Performance


def over_takes(
    work: Callable[[Performance], dict[str, Any]], performances: list[Performance], jobs: int
) -> list[dict[str, Any]]:
    """What the work makes of each take, in order, in so many processes."""
    takes = []
    # The arrays are small: threads of the numeric libraries would only get in each other's way.
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    with ProcessPoolExecutor(jobs) as pool:
        for i, take in enumerate(pool.map(work, performances), 1):
            print(f"{i}/{len(performances)} {take['name']}", file=sys.stderr, flush=True)
            takes.append(take)
    return takes


def plain(value: Any) -> Any:
    """The same without NaN, which JSON does not have."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return None if isinstance(value, float) and math.isnan(value) else value
