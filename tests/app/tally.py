"""What this process holds: memory, and processes it has started."""

import os


def memory() -> float:
    """Megabytes this process has in use."""
    with open("/proc/self/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGESIZE") / 1e6


def children() -> set[int]:
    """Processes that this one has started and that are still there."""
    found = set()
    for task in os.listdir("/proc/self/task"):
        with open(f"/proc/self/task/{task}/children", encoding="ascii") as file:
            found |= set(map(int, file.read().split()))
    return found
