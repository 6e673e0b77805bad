"""Paints taps and the lines they would place: double lines with a flag each, so that they look like no other line.

A flag that is filled stands for a tap, an outlined one for a line between taps; a doubtful line is dashed and its
flag has a question mark; of one that is left out only a dotted line and a small flag remain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen, QPolygonF

from app.colours import Colours
from app.span import Span
from app.state import Place
from app.timeline.bar_lines import beat_top
from app.timeline.heads import head_font
from app.timeline.picking import HEAD
from core.checks import Floats
from core.tapped import TappedLine

TOP, HIGH = HEAD + 4, 15
"""Pixels at which flags begin, below the heads of the lines that are there, and their height."""

NOTCH = 4
"""Pixels by which the end of a flag is cut in."""

SMALL = 9
"""Pixels of a flag without a number."""

MARK = 7
"""Half the pixels of the mark of a tap."""

ROOM = 3
"""Pixels kept free between two flags."""


@dataclass(frozen=True, slots=True, eq=False)
class Flag:
    """The flag of a bar line on screen.

    Parameters
    ----------
    line : TappedLine
        Whose it is.
    x : int
        Pixel of its line.
    width : int
        Pixels of the flag.
    text : str
        On it; empty where there is no room.
    """

    line: TappedLine
    x: int
    width: int
    text: str

    @property
    def place(self) -> Place:
        """Bar and beat of the line."""
        return self.line.bar, self.line.beat

    def holds(self, x: float, y: float) -> bool:
        """Whether a place in the lane is on it."""
        return self.x - 4 <= x <= self.x + max(self.width, 6) and TOP - 2 <= y <= TOP + HIGH + 2


class Preview:
    """The lines that taps would place, in order; empty for none.

    Parameters
    ----------
    lines : sequence of TappedLine
        In order of time.
    left_out : frozenset of (int, int)
        Those that are not to be placed.
    """

    def __init__(self, lines: Sequence[TappedLine] = (), left_out: frozenset[Place] = frozenset()) -> None:
        self.lines, self.left_out = tuple(lines), left_out
        self._time: Floats = np.array([line.time for line in lines])

    def _on_screen(self, span: Span, around: float) -> Sequence[TappedLine]:
        reach = around * span.seconds_per_pixel
        begin, end = np.searchsorted(self._time, (span.start - reach, span.end + reach))
        return self.lines[begin:end]

    def flags(self, span: Span, font: QFont) -> list[Flag]:
        """Flags of the bar lines on screen, with a number each where there is room up to the next."""
        metrics = QFontMetrics(head_font(font))
        bars = [line for line in self._on_screen(span, 60) if line.beat == 1]
        x = [round(span.x_of(line.time)) for line in bars]
        flags = []
        for line, at, following in zip(bars, x, [*x[1:], 1 << 20], strict=False):
            text = f"{line.bar}?" if line.doubtful else str(line.bar)
            width, room = metrics.horizontalAdvance(text) + 8 + NOTCH, following - at - ROOM
            if width > room or (line.bar, 1) in self.left_out:
                text, width = "", min(SMALL, room)
            flags.append(Flag(line, at, width, text))
        return flags

    def flag_at(self, x: float, y: float, span: Span, font: QFont) -> Flag | None:
        """The flag under a place in the lane."""
        return next((flag for flag in self.flags(span, font) if flag.holds(x, y)), None)

    def paint(self, painter: QPainter, rect: QRect, span: Span, colours: Colours) -> None:
        """Paint what is on screen; the painter's font is that of the lane."""
        font = painter.font()
        for line in self._on_screen(span, 4):
            top = rect.top() + TOP if line.beat == 1 else beat_top(rect)
            self._paint_line(painter, round(span.x_of(line.time)), top, rect.bottom(), line, colours)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(head_font(font))
        for flag in self.flags(span, font):
            if flag.width > 3:
                self._paint_flag(painter, flag, colours)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setFont(font)

    def _paint_line(
        self, painter: QPainter, x: int, top: int, bottom: int, line: TappedLine, colours: Colours
    ) -> None:
        if (line.bar, line.beat) in self.left_out:
            painter.setPen(QPen(colours.tapped, 1, Qt.PenStyle.DotLine))
            painter.drawLine(x, top, x, bottom)
            return
        painter.setPen(QPen(colours.tapped, 1, Qt.PenStyle.DashLine if line.doubtful else Qt.PenStyle.SolidLine))
        for at in (x - 1, x + 1) if line.beat == 1 else (x,):
            painter.drawLine(at, top, at, bottom)

    def _paint_flag(self, painter: QPainter, flag: Flag, colours: Colours) -> None:
        left, right, top = flag.x - 1.0, flag.x + flag.width + 0.5, TOP + 0.5
        points = [
            (left, top),
            (right, top),
            (right - NOTCH, top + HIGH / 2),
            (right, top + HIGH),
            (left, top + HIGH),
        ]
        filled = flag.line.tapped and not flag.line.doubtful and flag.place not in self.left_out
        painter.setPen(QPen(colours.tapped, 1))
        painter.setBrush(colours.tapped if filled else colours.lane)
        painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
        if flag.text:
            painter.setPen(colours.lane if filled else colours.text)
            box = QRectF(left, top, flag.width - NOTCH + 1, HIGH)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, flag.text)


def paint_taps(painter: QPainter, rect: QRect, taps: Sequence[float], span: Span, colours: Colours) -> None:
    """Paint a mark at each moment tapped: a dot on a short line."""
    times = np.array(taps)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for time in times[(times >= span.start) & (times <= span.end)].tolist():
        x = round(span.x_of(time))
        painter.setPen(QPen(colours.tapped, 1))
        painter.drawLine(x, rect.top() + TOP, x, rect.bottom())
        painter.setPen(QPen(colours.lane, 1))
        painter.setBrush(colours.tapped)
        painter.drawEllipse(QPointF(x + 0.5, rect.top() + TOP + MARK), MARK, MARK)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
