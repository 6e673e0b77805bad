"""Python's rubbish is collected in the thread of the window alone.

Its collector runs in whichever thread happens to ask for memory. A widget, or anything else of Qt, that lies in
the rubbish would be destroyed in a thread that is not its own, and that ends the process sooner or later.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer, Slot

EVERY = 1000
"""Milliseconds from one look at the rubbish to the next."""


class Tidying(QObject):
    """Takes the collector's place while the window is there."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._timer = QTimer(self, interval=EVERY)
        self._timer.timeout.connect(self.tidy)

    def start(self) -> None:
        """Collect by the clock from now on; what was loaded to begin with is never looked through again."""
        gc.disable()
        gc.freeze()
        self._timer.start()

    def stop(self) -> None:
        """Leave it to Python again."""
        self._timer.stop()
        gc.unfreeze()
        gc.enable()

    @Slot()
    def tidy(self) -> None:
        """Collect what is due."""
        collect_due()


def collect_due() -> None:
    """Collect the oldest rubbish of which Python thinks that it is due."""
    due = [count > least for count, least in zip(gc.get_count(), gc.get_threshold(), strict=True)]
    if any(due):
        gc.collect(max(age for age, collect in enumerate(due) if collect))
