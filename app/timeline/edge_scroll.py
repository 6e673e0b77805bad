"""Scrolls the take while something in the hand is held at the edge of the lanes, or beyond it."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from app.span import Span

EDGE = 24
"""Pixels from the edge at which scrolling begins."""

EVERY = 16
"""Milliseconds from one step to the next."""

FASTEST = 24.0
"""Pixels a step at most; the further out the hand, the faster."""


class EdgeScroll(QObject):
    """Scrolls for as long as the hand stays at the edge; whoever holds something then moves it along.

    Parameters
    ----------
    span : Span
        Of the lanes.
    """

    scrolled = Signal()
    """The take has moved under the hand."""

    def __init__(self, span: Span, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._span = span
        self._pixels = 0.0
        self._timer = QTimer(self)
        self._timer.setInterval(EVERY)
        self._timer.timeout.connect(self._step)

    @property
    def active(self) -> bool:
        """Whether the take moves."""
        return self._timer.isActive()

    def hold(self, x: float, since: float) -> None:
        """Say at which pixel the hand is, and where it took hold: what begins at the edge has not gone there."""
        outside = min(x - min(EDGE, since), 0.0) + max(x - max(self._span.width - EDGE, since), 0.0)
        self._pixels = min(max(outside / 4, -FASTEST), FASTEST)
        if not outside:
            self.stop()
        elif not self._timer.isActive():
            self._timer.start()

    def stop(self) -> None:
        """The hand is empty, or back inside."""
        self._timer.stop()

    def _step(self) -> None:
        before = self._span.start
        self._span.scroll(self._pixels)
        if self._span.start == before:
            self.stop()
        else:
            self.scrolled.emit()
