"""Paints bar lines and beats in one pass over those on screen, never one item a line.

What is placed, suggested or doubtful shows in shape and weight: a thick line with a filled head, a thin line with
an outlined head, a dashed line with a diamond.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.colours import Colours
from app.span import Span
from app.state import Place
from app.timeline.heads import head_edges, head_font, paint_head, paint_mark, paint_ring, polygon, ring_of
from app.timeline.lines import Flags, Indices, Lines, Shown, shown, step_for
from app.timeline.picking import HEAD
from app.timeline.rects import fill_rects
from app.timeline.upright import paint_upright

THICK = 3
"""Pixels of a placed bar line; the others are thinner."""

ROOM = 9
"""Pixels kept free between two bar numbers."""

MARGIN = 100
"""Pixels beyond both edges in which numbers still keep out of each other's way."""

NUMBERED_BEATS = 44.0
"""Pixels from beat to beat above which beats bear their numbers."""

FULL = 28.0
"""Pixels of a bar from which suggested bar lines are painted in full; where they stand closer, the music would be
behind bars, so they grow fainter."""

FAINTEST = 0.3
"""Opacity of suggested bar lines where they stand closest."""

EDGE = 0.6
"""Opacity of the ground at both sides of a line, which keeps a dark line apart from a dark waveform."""

OLD = 0.45
"""Opacity of suggestions that are about to be replaced."""


@dataclass(frozen=True, slots=True)
class Look:
    """What is to be emphasised or left out.

    Parameters
    ----------
    selection : frozenset of (int, int)
        Selected lines.
    hover : (int, int) or None
        The line under the pointer.
    focus : (int, int) or None
        The line that keys act on, while they do.
    moving : (int, int) or None
        A line in the hand, which is painted elsewhere.
    pending : bool
        Whether newer suggestions are on their way.
    """

    selection: frozenset[Place] = field(default=frozenset())
    hover: Place | None = None
    focus: Place | None = None
    moving: Place | None = None
    pending: bool = False


def beat_top(rect: QRect) -> int:
    """Pixel at which the lines of beats begin: lower than those of bars."""
    return rect.top() + HEAD + int(0.22 * rect.height())


def paint_bar_lines(
    painter: QPainter, rect: QRect, lines: Lines, span: Span, colours: Colours, *, look: Look
) -> None:
    """Paint every line on screen.

    Parameters
    ----------
    painter : QPainter
        Its font is that of the lane.
    rect : QRect
        The lane.
    lines : Lines
        Of the grid on screen.
    span : Span
        What is on screen.
    colours : Colours
        Of the window.
    look : Look
        What is emphasised.
    """
    if not len(lines):
        return
    painter.save()
    painter.setFont(head_font(painter.font()))
    widest = painter.fontMetrics().horizontalAdvance(str(int(np.abs(lines.bar).max()))) + 14
    there = _without_moving(shown(lines, span, around=widest + HEAD), lines, look)
    dirty = painter.clipBoundingRect() if painter.hasClipping() else QRectF(rect)
    _paint_beats(painter, rect, lines, _within(dirty, there.beats, lines, span), span, colours, old=look.pending)
    _paint_emphasis(painter, rect, lines, span, colours, look)
    _paint_alternatives(painter, rect, lines, span, colours, look)
    bars = np.union1d(there.bars, _emphasised(lines, look))
    _paint_bars(painter, rect, lines, _within(dirty, bars, lines, span), span, colours, old=look.pending)
    _paint_heads(
        painter, rect, lines, bars, span, colours, look, max(step_for(lines, span, widest + ROOM), there.step)
    )
    painter.restore()


def _pixels(lines: Lines, at: Indices, span: Span) -> Indices:
    return np.rint((lines.time[at] - span.start) / span.seconds_per_pixel).astype(np.intp)


def _within(dirty: QRectF, at: Indices, lines: Lines, span: Span) -> Indices:
    """Keep those lines of which something lies in a rectangle."""
    x = _pixels(lines, at, span)
    return at[(x >= dirty.left() - NUMBERED_BEATS) & (x <= dirty.right() + NUMBERED_BEATS)]


def _without_moving(there: Shown, lines: Lines, look: Look) -> Shown:
    moving = None if look.moving is None else lines.index(look.moving)
    if moving is None:
        return there
    return Shown(there.bars[there.bars != moving], there.beats[there.beats != moving], there.step)


def _emphasised(lines: Lines, look: Look) -> Indices:
    """Bar lines that show however many are left out."""
    places = {*look.selection, look.focus} - {look.moving}
    found = [lines.index(place) for place in places if place is not None and place[1] == 1]
    return np.array([i for i in found if i is not None], dtype=np.intp)


def _faded(colour: QColor, opacity: float) -> QColor:
    faded = QColor(colour)
    faded.setAlphaF(opacity * colour.alphaF())
    return faded


def _paint_beats(
    painter: QPainter, rect: QRect, lines: Lines, beats: Indices, span: Span, colours: Colours, *, old: bool
) -> None:
    x, placed = _pixels(lines, beats, span), lines.placed[beats]
    top, bottom = beat_top(rect), rect.bottom()
    high = bottom - top + 1
    paint_upright(painter, _faded(colours.beat, OLD if old else 1.0), x[~placed].tolist(), top, 1, high)
    fill_rects(painter, colours.placed, x=x[placed] - 1, y=top, width=2, height=high)
    fill_rects(painter, colours.placed, x=x[placed] - 4, y=top - 4, width=8, height=8)
    if lines.beat_length >= NUMBERED_BEATS * span.seconds_per_pixel:
        painter.setPen(colours.faint)
        for at, number in zip(x.tolist(), lines.beat[beats].tolist(), strict=True):
            painter.drawText(QRect(at - 12, top - 18, 24, 14), Qt.AlignmentFlag.AlignCenter, str(number))


def _paint_emphasis(
    painter: QPainter, rect: QRect, lines: Lines, span: Span, colours: Colours, look: Look
) -> None:
    """Bands behind the selected lines, with a foot each, and behind the one under the pointer."""
    for place in {*look.selection, look.hover} - {look.moving}:
        index = None if place is None else lines.index(place)
        if index is None or not span.start <= lines.time[index] <= span.end:
            continue
        x = round(span.x_of(float(lines.time[index])))
        top = rect.top() + HEAD - 3 if lines.beat[index] == 1 else beat_top(rect)
        if place in look.selection:
            painter.fillRect(x - 6, top, 13, rect.bottom() - top + 1, colours.selection)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colours.text)
            low = rect.bottom() + 1
            painter.drawPolygon(polygon((x - 6, low), (x + 0.5, low - 9), (x + 7, low)))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        if place == look.hover:
            painter.fillRect(x - 3, top, 7, rect.bottom() - top + 1, _faded(colours.text, 0.25))


def _paint_alternatives(
    painter: QPainter, rect: QRect, lines: Lines, span: Span, colours: Colours, look: Look
) -> None:
    """Dotted lines where the one selected bar line might stand instead, numbered by how likely they are."""
    line = lines.line(next(iter(look.selection))) if len(look.selection) == 1 else None
    if line is None or line.placed or look.moving is not None:
        return
    painter.setPen(QPen(colours.doubtful, 1, Qt.PenStyle.DotLine))
    numbered = [round(span.x_of(line.time))]
    for rank, time in enumerate(line.alternatives, 1):
        x = round(span.x_of(time))
        painter.drawLine(x, rect.top() + HEAD + 16, x, rect.bottom())
        if all(abs(x - other) >= 12 for other in numbered):
            numbered.append(x)
            painter.drawText(QRect(x - 8, rect.top() + HEAD + 1, 17, 14), Qt.AlignmentFlag.AlignCenter, str(rank))


def _paint_bars(
    painter: QPainter, rect: QRect, lines: Lines, bars: Indices, span: Span, colours: Colours, *, old: bool
) -> None:
    close = lines.bar_length / span.seconds_per_pixel / FULL
    opacity = max(min(close, 1.0), FAINTEST) * (OLD if old else 1.0)
    x, placed, doubtful = _pixels(lines, bars, span), lines.placed[bars], lines.doubtful[bars]
    top, bottom = rect.top() + HEAD - 3, rect.bottom()
    plain = ~placed & ~doubtful
    high = bottom - top + 1
    # Where lines stand close, light edges would hide too much of the music.
    edge = _faded(colours.lane, EDGE) if close >= 1.0 else None
    suggested, unsure = _faded(colours.suggested, opacity), _faded(colours.doubtful, opacity)
    paint_upright(painter, suggested, x[plain].tolist(), top, 1, high, edge=edge)
    paint_upright(painter, unsure, x[doubtful].tolist(), top, 2, high, edge=edge, dashed=True)
    paint_upright(painter, colours.placed, (x[placed] - THICK // 2).tolist(), top, THICK, high, edge=edge)


def _paint_heads(
    painter: QPainter,
    rect: QRect,
    lines: Lines,
    bars: Indices,
    span: Span,
    colours: Colours,
    look: Look,
    every: int,
) -> None:
    """Numbers where there is room, those of emphasised lines first; then heads without numbers between them."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    metrics = painter.fontMetrics()
    suggested, doubtful = (
        _faded(colour, OLD if look.pending else 1.0) for colour in (colours.suggested, colours.doubtful)
    )
    x, number = _pixels(lines, bars, span), lines.bar[bars]
    placed, unsure = lines.placed[bars], lines.doubtful[bars]
    loud = np.isin(bars, _emphasised(lines, look))
    if look.hover is not None and look.hover[1] == 1:
        loud |= number == look.hover[0]
    numbered = loud | ((number - 1) % every == 0)
    taken = np.zeros(rect.width() + 2 * MARGIN, dtype=np.bool_)
    later = []
    wanted = np.flatnonzero(numbered | placed | unsure)
    for i in wanted[np.argsort(~loud[wanted], kind="stable")].tolist():
        at, text, colour = int(x[i]), str(int(number[i])), suggested
        if placed[i] or unsure[i]:
            colour = colours.placed if placed[i] else doubtful
        left, right = head_edges(at, metrics.horizontalAdvance(text), rect.width(), doubtful=bool(unsure[i]))
        if numbered[i] and _take(taken, left - ROOM // 2, right + ROOM // 2):
            paint_head(
                painter,
                rect,
                at,
                text,
                colour,
                colours,
                placed=bool(placed[i]),
                doubtful=bool(unsure[i]),
                bold=bool(loud[i]),
            )
        elif placed[i] or unsure[i]:
            later.append((at, colour, bool(placed[i])))
    for at, colour, filled in later:
        if _take(taken, at - 4, at + 5):
            paint_mark(painter, rect.top(), at, colour, colours, filled=filled)
    focus = None if look.focus is None or look.focus == look.moving else lines.line(look.focus)
    if focus is not None:
        at = round(span.x_of(focus.time))
        wide = metrics.horizontalAdvance(str(focus.bar))
        box = ring_of(rect, at, wide, doubtful=focus.doubtful)
        if focus.beat > 1:
            box = QRectF(at - 8.5, beat_top(rect) - 20, 18, 18)
            painter.setBrush(colours.lane)
            painter.setPen(colours.text)
            painter.drawRect(box)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(focus.beat))
        paint_ring(painter, box, colours)


def _take(taken: Flags, left: int, right: int) -> bool:
    """Take a stretch of pixels if it is free."""
    room = taken[max(left + MARGIN, 0) : max(right + MARGIN, 0)]
    if room.any():
        return False
    room[:] = True
    return True
