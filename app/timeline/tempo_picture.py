"""How the tempo lane draws its bars and, over them, the tempo map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.colours import Colours
from app.span import Span
from app.timeline.heads import polygon
from app.timeline.lines import Indices, Lines
from app.timeline.rects import fill_rects
from app.timeline.tempo_scale import TempoScale
from core.checks import Floats
from core.fit import Fit

DOTTED = 5
"""Pixels of a usual bar from which its tempo is a dot; else it is a stroke."""

BODY = 0.15
"""How much of the tempo's colour the body of a bar has."""


@dataclass(frozen=True, slots=True)
class Rows:
    """A scale laid out from one pixel row to another, in a lane of a height."""

    scale: TempoScale
    top: int
    bottom: int
    height: int

    def of(self, tempi: Floats) -> Floats:
        """Pixel row of each tempo; what lies beyond the scale is at its end."""
        share = (tempi - self.scale.low) / (self.scale.high - self.scale.low)
        return np.rint(self.bottom - np.clip(share, 0.0, 1.0) * (self.bottom - self.top))


def paint_bodies(
    painter: QPainter, rows: Rows, lines: Lines, span: Span, colours: Colours, *, selected: Sequence[int]
) -> None:
    """Paint each bar from the bottom to its tempo."""
    bars, left, width = _on_screen(lines, span)
    y = rows.of(lines.tempo[bars])
    wide = np.maximum(width - _dotted(lines, span), 1)
    # Solid colours: Qt takes several times as long to blend.
    for ground, which in _grounds(lines.bar_number[bars], selected, colours):
        fill_rects(painter, ground, x=left[which], y=y[which], width=wide[which], height=rows.height - y[which])


def _grounds(numbers: Indices, selected: Sequence[int], colours: Colours) -> list[tuple[QColor, Indices]]:
    chosen = np.isin(numbers, selected)
    emphasis = _over(colours.lane, colours.selection, colours.selection.alphaF())
    return [
        (_over(colours.lane, colours.tempo, BODY), np.flatnonzero(~chosen)),
        (emphasis, np.flatnonzero(chosen)),
    ]


def paint_tops(painter: QPainter, rows: Rows, lines: Lines, span: Span, colours: Colours) -> None:
    """Paint the tempo of each bar: a dot, filled where its line is placed, or a stroke where bars are narrow."""
    bars, left, width = _on_screen(lines, span)
    tempi = lines.tempo[bars]
    y, beyond = rows.of(tempi), (tempi > rows.scale.high).astype(int) - (tempi < rows.scale.low)
    middle = (left + left + width) // 2
    if not _dotted(lines, span):
        within = beyond == 0
        fill_rects(painter, colours.tempo, x=left[within], y=y[within] - 1, width=width[within], height=2)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for i in np.flatnonzero(beyond).tolist():
        _paint_arrow(painter, int(middle[i]), int(y[i]), int(beyond[i]), colours)
    if _dotted(lines, span):
        painter.setPen(QPen(colours.tempo, 1))
        placed = lines.placed[lines.bars[bars]]
        for i in np.flatnonzero(beyond == 0).tolist():
            painter.setBrush(colours.tempo if placed[i] else colours.lane)
            painter.drawEllipse(QPointF(float(middle[i]) + 0.5, float(y[i]) + 0.5), 2.5, 2.5)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)


def paint_curve(painter: QPainter, rows: Rows, fit: Fit, lines: Lines, span: Span, colours: Colours) -> None:
    """Paint the tempo between all knots of the map as a line of steps."""
    knots, tempi = fit.tempo_map.seconds, fit.tempo_map.tempi / lines.tempo_unit
    first = max(int(np.searchsorted(knots, span.start, side="right")) - 1, 0)
    last = min(int(np.searchsorted(knots, span.end)) + 1, len(knots))
    if last - first < 2:
        return
    x = np.rint((knots[first:last] - span.start) / span.seconds_per_pixel)
    y = rows.of(tempi[first : last - 1])
    fill_rects(painter, colours.curve, x=x[:-1], y=y, width=np.diff(x) + 1, height=2)
    upper, lower = np.minimum(y[:-1], y[1:]), np.maximum(y[:-1], y[1:])
    fill_rects(painter, colours.curve, x=x[1:-1], y=upper, width=1, height=lower - upper + 2)


def _on_screen(lines: Lines, span: Span) -> tuple[Indices, Indices, Indices]:
    """Positions of the whole bars on screen, and the pixel at which each begins and how many it has."""
    first = max(int(np.searchsorted(lines.bar_time, span.start, side="right")) - 1, 0)
    last = min(int(np.searchsorted(lines.bar_time, span.end)) + 1, len(lines.bar_time))
    edges = np.rint((lines.bar_time[first:last] - span.start) / span.seconds_per_pixel).astype(np.intp)
    return np.arange(first, max(last - 1, first)), edges[:-1], np.maximum(np.diff(edges), 1)


def _dotted(lines: Lines, span: Span) -> bool:
    return lines.bar_length >= DOTTED * span.seconds_per_pixel


def _over(ground: QColor, colour: QColor, share: float) -> QColor:
    """Give the solid colour that a translucent one has on a ground."""
    parts = zip(
        (ground.redF(), ground.greenF(), ground.blueF()),
        (colour.redF(), colour.greenF(), colour.blueF()),
        strict=True,
    )
    return QColor.fromRgbF(*(below + (above - below) * share for below, above in parts))


def _paint_arrow(painter: QPainter, x: int, y: int, beyond: int, colours: Colours) -> None:
    """Point to a tempo that lies beyond the scale."""
    tip, foot = y - beyond * 6, y + beyond * 2
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.tempo)
    painter.drawPolygon(polygon((x - 4, foot), (x + 5, foot), (x + 0.5, tip)))
