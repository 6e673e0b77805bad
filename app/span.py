"""The part of a take that is on screen, and how seconds and pixels go over into each other."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

SHORTEST = 0.05
"""Seconds on screen at the closest zoom."""


class Span(QObject):
    """Seconds on screen, shared by every lane so that all of them scroll and zoom as one.

    A lane maps with `x_of` and `time_at`; its width in logical pixels is the same as every other lane's.
    """

    changed = Signal()
    """Another part is on screen, or the width of the lanes has changed."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.duration = 1.0
        self.start, self.end = 0.0, 1.0
        self.width = 1

    @property
    def seconds_per_pixel(self) -> float:
        """Seconds that a logical pixel stands for."""
        return (self.end - self.start) / max(self.width, 1)

    def x_of(self, time: float) -> float:
        """Logical pixels from the left edge of a lane."""
        return (time - self.start) / self.seconds_per_pixel

    def time_at(self, x: float) -> float:
        """Seconds of take time at a pixel."""
        return self.start + x * self.seconds_per_pixel

    def set_width(self, width: int) -> None:
        """Say how wide the lanes are, in logical pixels; the seconds on screen stay."""
        if width > 0 and width != self.width:
            self.width = width
            self.changed.emit()

    def set_duration(self, duration: float) -> None:
        """Another take: show all of it."""
        self.duration = max(duration, SHORTEST)
        self.fit()

    def show(self, start: float, end: float) -> None:
        """Show a stretch, kept inside the take and not closer than `SHORTEST`."""
        length = min(max(end - start, SHORTEST), self.duration)
        middle = 0.5 * (start + end)
        start = min(max(middle - length / 2, 0.0), self.duration - length)
        if (start, start + length) != (self.start, self.end):
            self.start, self.end = start, start + length
            self.changed.emit()

    def fit(self) -> None:
        """Show the whole take."""
        self.show(0.0, self.duration)

    def zoom(self, factor: float, x: float) -> None:
        """Zoom in (factor above 1) or out; the moment under the pixel stays where it is."""
        at = self.time_at(x)
        length = min(max((self.end - self.start) / factor, SHORTEST), self.duration)
        start = at - length * x / max(self.width, 1)
        start = min(max(start, 0.0), self.duration - length)
        self.show(start, start + length)

    def scroll(self, pixels: float) -> None:
        """Move later by so many pixels."""
        shift = pixels * self.seconds_per_pixel
        shift = min(max(shift, -self.start), self.duration - self.end)
        self.show(self.start + shift, self.end + shift)

    def reveal(self, time: float, *, margin: float = 0.15) -> None:
        """Scroll, no further than needed, so that a moment is on screen with some music around it."""
        length = self.end - self.start
        inner = margin * length
        if time < self.start + inner:
            self.show(time - inner, time - inner + length)
        elif time > self.end - inner:
            self.show(time + inner - length, time + inner)

    def centre(self, time: float) -> None:
        """Put a moment into the middle at the zoom in use."""
        half = 0.5 * (self.end - self.start)
        self.show(time - half, time + half)
