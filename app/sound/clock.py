"""The one clock on which moments are given, in every process of ours."""

from __future__ import annotations

import time


def now() -> float:
    """Seconds on the system's monotonic clock, which all processes share."""
    return time.monotonic()
