"""Waiting for the window, for whoever has no pytest."""

import time
from collections.abc import Callable

from PySide6.QtTest import QTest


def until(done: Callable[[], bool], what: str, *, patience: float = 60.0) -> None:
    """Let the window work until something is done; TimeoutError with `what` after so many seconds."""
    end = time.monotonic() + patience
    while not done():
        if time.monotonic() > end:
            raise TimeoutError(what)
        QTest.qWait(5)
