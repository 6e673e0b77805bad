"""Marks of the pauses over the main lane: how long each lasts as it is heard, and its end in the hand."""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPen

from app.colours import Colours
from app.cutting.pause_list import taken_of
from app.span import Span
from app.timeline.heads import paint_label
from app.timeline.picking import HEAD
from core.arrangement import Arrangement
from core.cutting import EDGE, LEAST
from core.hesitations import Hesitation

TOP, HIGH = HEAD + 24, 12
"""Pixels from the top of the lane to the marks, below all heads and flags, and their height."""

GRAB = 6
"""Pixels to both sides of a grip within which it is taken hold of."""

ROOM = 20
"""Pixels a pause must have on screen for its mark to be shown."""

_ROUNDING = 1e-6

GRIP = 5
"""Width of a grip in pixels."""


@dataclass(frozen=True, slots=True)
class PauseMark:
    """A pause, and the seconds it lasts as it is heard."""

    pause: Hesitation
    lasts: float

    @property
    def whole(self) -> float:
        """Seconds it was played with."""
        return self.pause.end - self.pause.start

    @property
    def end(self) -> float:
        """Where its grip is, in recording time."""
        return self.pause.start + self.lasts

    def shown(self, span: Span) -> bool:
        """Whether it has room on screen."""
        return self.whole >= ROOM * span.seconds_per_pixel

    def to(self, end: float, within: float) -> PauseMark:
        """Take its grip elsewhere, no further than the pause was played and no less than stays of any.

        Parameters
        ----------
        end : float
            Seconds of recording time.
        within : float
            Seconds from which it snaps to the length its neighbours suggest; 0 for not at all.
        """
        lasts = end - self.pause.start
        if within and abs(lasts - self.pause.suggested) <= within:
            lasts = self.pause.suggested
        lasts = min(max(lasts, 2 * EDGE), self.whole)
        return replace(self, lasts=lasts if self.whole - lasts >= LEAST else self.whole)

    def same(self, lasts: float) -> bool:
        """Whether it lasts so many seconds, but for rounding."""
        return abs(self.lasts - lasts) < _ROUNDING

    @property
    def words(self) -> str:
        """What is taken out of it, and what is left."""
        if self.same(self.whole):
            return f"{self.whole:.1f} s, as played"
        suggested = ", as suggested" if self.same(self.pause.suggested) else ""
        return f"{self.whole - self.lasts:.1f} s taken out, {self.lasts:.1f} s left{suggested}"


def marks_of(pauses: tuple[Hesitation, ...], arrangement: Arrangement) -> tuple[PauseMark, ...]:
    """Marks of pauses as an arrangement has them."""
    marks = []
    for pause in pauses:
        taken = taken_of(pause, arrangement)
        marks.append(PauseMark(pause, pause.end - pause.start - taken))
    return tuple(marks)


def grip_at(x: float, y: float, marks: tuple[PauseMark, ...], span: Span) -> PauseMark | None:
    """The mark whose grip is under the pointer: of several the nearest."""
    if not TOP - 3 <= y <= TOP + HIGH + 3:
        return None
    near = [(abs(span.x_of(mark.end) - x), mark) for mark in marks if mark.shown(span)]
    away, mark = min(near, key=lambda one: one[0], default=(GRAB + 1.0, None))
    return mark if away <= GRAB else None


def paint_marks(
    painter: QPainter,
    rect: QRect,
    marks: tuple[PauseMark, ...],
    hot: PauseMark | None,
    span: Span,
    colours: Colours,
) -> None:
    """Paint marks: a bar as long as the pause is heard, dots where it was longer, and a grip at its end."""
    for mark in marks:
        left, right = round(span.x_of(mark.pause.start)), round(span.x_of(mark.pause.end))
        if right < rect.left() - GRIP or left > rect.right() or not mark.shown(span):
            continue
        end, suggested = round(span.x_of(mark.end)), round(span.x_of(mark.pause.start + mark.pause.suggested))
        middle = TOP + HIGH // 2
        painter.setPen(QPen(colours.faint, 1, Qt.PenStyle.DotLine))
        painter.drawLine(end, middle, right, middle)
        painter.setPen(QPen(colours.text, 1))
        painter.drawLine(left, TOP, left, TOP + HIGH)
        painter.fillRect(left, middle - 1, end - left, 3, colours.text)
        painter.drawLine(suggested, middle - 4, suggested, middle + 4)
        held = hot is not None and hot.pause == mark.pause
        grip = QRect(end - GRIP // 2, TOP, GRIP, HIGH + 1)
        painter.fillRect(grip.adjusted(-1, -1, 1, 1), colours.lane)
        painter.fillRect(grip, colours.snap if held else colours.text)


def paint_words(painter: QPainter, rect: QRect, mark: PauseMark, span: Span, colours: Colours) -> None:
    """Say beside the grip in the hand what it does."""
    x, metrics = round(span.x_of(mark.end)), painter.fontMetrics()
    box = QRect(0, TOP - 4, metrics.horizontalAdvance(mark.words) + 14, metrics.height() + 6)
    fits = x + 12 + box.width() <= rect.right()
    box.moveLeft(x + 12 if fits else x - 12 - box.width())
    paint_label(painter, box, mark.words, colours)
