"""Lies over a lane and shows what is not heard of it, or where its passages meet."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from app.colours import colours_for
from app.cutting.marks import Seam, not_heard, paint_seams, paint_stretches
from app.span import Span
from app.state import State
from core.arrangement import Arrangement
from core.passages import Passage


def stretches_of(state: State, arrangement: Arrangement | None = None) -> tuple[Passage, ...]:
    """What of a recording is not heard, as things are or with another arrangement."""
    if state.take is None or state.document is None:
        return ()
    return not_heard(arrangement or state.document.arrangement, state.take.duration)


class CutLayer(QWidget):
    """Lets the mouse through.

    Parameters
    ----------
    lane : QWidget
        What it lies over.
    span : Span
        What that shows.
    """

    def __init__(self, lane: QWidget, span: Span) -> None:
        super().__init__(lane)
        self._lane, self._span = lane, span
        self.stretches: tuple[Passage, ...] = ()
        self.seams: tuple[Seam, ...] = ()
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("What is not heard")
        lane.installEventFilter(self)
        span.changed.connect(self.update)
        self.setGeometry(lane.rect())
        self.hide()

    def show_cuts(self, stretches: tuple[Passage, ...] = (), seams: tuple[Seam, ...] = ()) -> None:
        """Show other stretches, in the lane's own time, and other seams."""
        if (stretches, seams) == (self.stretches, self.seams):
            return
        self.stretches, self.seams = stretches, seams
        words = [f"{stretch.duration:.1f} s at {stretch.start:.1f} s not heard" for stretch in stretches]
        words += [f"Seam at {seam.time:.1f} s: {seam.words}" for seam in seams]
        self.setAccessibleDescription("; ".join(words))
        self.setVisible(bool(words))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint them."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        font = self.font()
        font.setPixelSize(11)
        painter.setFont(font)
        paint_stretches(painter, self.rect(), self.stretches, self._span, colours)
        paint_seams(painter, self.rect(), self.seams, self._span, colours)
        painter.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the lane."""
        if watched is self._lane and event.type() == QEvent.Type.Resize:
            self.setGeometry(self._lane.rect())
        return super().eventFilter(watched, event)
