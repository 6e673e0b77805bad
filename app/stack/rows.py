"""Paints the rows of the bar stack that are on screen, everything of one kind in one go."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.colours import Colours
from app.stack.beat_names import paint_beat_names
from app.stack.layout import HEADING
from app.stack.scene import Stack
from app.timeline.heads import head_font
from app.timeline.lines import Indices
from core.checks import Floats

FAINT = 90
"""How much of a suggestion is seen, of 255, while newer ones are on their way."""

SHADES = 6
"""Steps from the softest onset to the strongest."""

DIMMED = 0.62
"""How far the music before and after a bar fades into the ground."""

ON_LINE = 4
"""Pixels beyond a bar line within which an onset is not dimmed, since it is likely the bar's own."""


THICK, DASH = 6, 4
"""Pixels across a placed bar line and the dashes of a doubtful one; an onset on it, two wide, hides neither."""


def paint_rows(painter: QPainter, stack: Stack, colours: Colours, *, scroll: float, top: int, height: int) -> None:
    """Paint the rows on screen, without numbers and figures.

    Parameters
    ----------
    scroll : float
        Pixels the content is scrolled by.
    top, height : int
        Where rows begin on the widget, and where it ends.
    """
    layout = stack.layout
    first, last = layout.visible(scroll, height - top)
    if first == last:
        return
    y = np.rint(layout.tops[first:last] - scroll + top)
    deep = np.rint(layout.tops[first:last] + layout.row_height - scroll + top) - y
    _grounds(painter, stack, colours, first, y, deep)
    _columns(painter, stack, colours, first, last, y, deep)
    # Under the onsets, so that one that is struck on a bar line is seen with it.
    _lines(painter, stack, colours, first, last, y, deep)
    _onsets(painter, stack, colours, first, last, y, deep)
    for i, row_y in enumerate(y.tolist()):
        if words := layout.headings[first + i]:
            _heading(painter, stack, colours, first + i, row_y, words)


def _grounds(painter: QPainter, stack: Stack, colours: Colours, first: int, y: Floats, deep: Floats) -> None:
    chosen = {bar for bar, _ in stack.selection}
    width = stack.layout.width
    for i, (row_y, row_deep) in enumerate(zip(y.tolist(), deep.tolist(), strict=True)):
        bar = int(stack.rows.bar[first + i])
        band = QRectF(0, row_y, width, row_deep)
        painter.fillRect(band, colours.lane_odd if bar % 2 else colours.lane)
        if bar in chosen:
            painter.fillRect(band, colours.selection)


def _spread_over(first_of: Indices, first: int, last: int, y: Floats) -> tuple[slice, Indices]:
    """Entries of the rows on screen, and for each the position of its row among them."""
    counts = np.diff(first_of[first : last + 1])
    return slice(int(first_of[first]), int(first_of[last])), np.repeat(np.arange(last - first), counts)


def _columns(
    painter: QPainter, stack: Stack, colours: Colours, first: int, last: int, y: Floats, deep: Floats
) -> None:
    """Where beats would stand in a bar played evenly: straight down through rows of one metre."""
    there, row = _spread_over(stack.rows.first_line, first, last, y)
    phase = stack.rows.score_phase[there]
    inside = (phase > 0) & (phase < 1)
    x, row = np.rint(stack.layout.x_of(phase[inside])), row[inside]
    painter.setPen(QPen(colours.beat, 1))
    painter.drawLines(_verticals(x, y[row], y[row] + deep[row] - 1))


def _verticals(x: Floats, top: Floats, bottom: Floats) -> list[QLineF]:
    return [
        QLineF(a + 0.5, b, a + 0.5, c) for a, b, c in zip(x.tolist(), top.tolist(), bottom.tolist(), strict=True)
    ]


def _onsets(
    painter: QPainter, stack: Stack, colours: Colours, first: int, last: int, y: Floats, deep: Floats
) -> None:
    """Upright marks, taller and darker the stronger the onset is; low notes stand on a foot."""
    there, row = _spread_over(stack.rows.first_onset, first, last, y)
    onset = stack.rows.onset[there]
    share, low = stack.share[onset], stack.low[onset]
    x = np.rint(stack.layout.x_of(stack.rows.onset_phase[there]))
    room = deep[row]
    tall = np.maximum(np.rint(room * (0.35 + 0.5 * share)), 3)
    bottom = y[row] + room - np.where(room >= 12, 2, 0)
    shade = np.minimum((share * SHADES).astype(np.intp), SHADES - 1)
    foot = np.clip(np.rint(room * 0.16), 2, 4)
    begin, end = stack.layout.x_of(np.array([0.0, 1.0])).tolist()
    around = (x < begin - ON_LINE) | (x > end + ON_LINE)
    marks = np.stack([x - 1, bottom - tall, np.full_like(x, 2), tall], axis=1)
    feet = np.stack([x - 4, bottom - foot, np.full_like(x, 8), foot], axis=1)
    painter.setPen(Qt.PenStyle.NoPen)
    for step in range(SHADES):
        colour = _between(colours.note_soft, colours.note, 0.25 + 0.75 * step / (SHADES - 1))
        for dim in (False, True):
            painter.setBrush(_between(colour, colours.lane, DIMMED) if dim else colour)
            these = (shade == step) & (around == dim)
            boxes = (*marks[these].tolist(), *feet[these & low].tolist())
            painter.drawRects([QRectF(*box) for box in boxes])


def _between(one: QColor, other: QColor, share: float) -> QColor:
    pairs = ((one.red(), other.red()), (one.green(), other.green()), (one.blue(), other.blue()))
    return QColor(*(round(a + (b - a) * share) for a, b in pairs))


def _lines(
    painter: QPainter, stack: Stack, colours: Colours, first: int, last: int, y: Floats, deep: Floats
) -> None:
    """Bar lines through the whole row, beats as ticks at its top and bottom."""
    rows, lines = stack.rows, stack.lines
    there, row = _spread_over(rows.first_line, first, last, y)
    line = rows.line[there]
    x = np.rint(stack.layout.x_of(rows.line_phase[there]))
    top, bottom = y[row], y[row] + deep[row] - 1
    bar = lines.beat[line] == 1
    placed, unsure = lines.placed[line], lines.doubtful[line]
    suggested, doubtful = QColor(colours.suggested), QColor(colours.doubtful)
    if stack.pending:
        suggested.setAlpha(FAINT)
        doubtful.setAlpha(FAINT)
    _emphasis(painter, stack, colours, line, row + first, x, top, bottom)

    painter.setPen(QPen(suggested, 1))
    plain = bar & ~placed & ~unsure
    tick = np.clip(np.rint(deep[row] * 0.2), 2, 6)
    beat = ~bar & ~placed
    painter.drawLines(_verticals(x[plain], top[plain], bottom[plain]))
    painter.drawLines(_verticals(x[beat], top[beat], (top + tick - 1)[beat]))
    painter.drawLines(_verticals(x[beat], (bottom - tick + 1)[beat], bottom[beat]))
    for at, from_y, to_y in _triples(x, top, bottom, bar & unsure):
        # Dash by dash, as on the timeline.
        for dash in range(int(from_y), int(to_y) + 1, 7):
            painter.fillRect(QRectF(at - DASH / 2, dash, DASH, min(4, to_y - dash + 1)), doubtful)
    for at, from_y, to_y in _triples(x, top, bottom, bar & placed):
        painter.fillRect(QRectF(at - THICK / 2, from_y, THICK, to_y - from_y + 1), colours.placed)
    for at, from_y, to_y in _triples(x, top, bottom, ~bar & placed):
        painter.fillRect(QRectF(at - 1, from_y, 2, to_y - from_y + 1), colours.placed)
        painter.fillRect(QRectF(at - 3, from_y, 6, min(5, to_y - from_y)), colours.placed)


def _triples(x: Floats, top: Floats, bottom: Floats, where: NDArray[np.bool_]) -> list[tuple[float, float, float]]:
    return list(zip(x[where].tolist(), top[where].tolist(), bottom[where].tolist(), strict=True))


def _emphasis(
    painter: QPainter,
    stack: Stack,
    colours: Colours,
    line: Indices,
    row: Indices,
    x: Floats,
    top: Floats,
    bottom: Floats,
) -> None:
    halo = QColor(colours.text)
    halo.setAlpha(60)
    indices = {stack.lines.index(place) for place in stack.selection} - {None}
    hovered = None if stack.hover is None else (stack.hover[0], stack.lines.index(stack.hover[1]))
    for i, (index, at, from_y, to_y) in enumerate(
        zip(line.tolist(), x.tolist(), top.tolist(), bottom.tolist(), strict=True)
    ):
        if index in indices:
            painter.fillRect(QRectF(at - 4, from_y, 9, to_y - from_y + 1), colours.selection)
        if hovered == (int(row[i]), index):
            painter.fillRect(QRectF(at - 3, from_y, 7, to_y - from_y + 1), halo)


def _heading(painter: QPainter, stack: Stack, colours: Colours, row: int, y: float, words: str) -> None:
    bar, metre = int(stack.rows.bar[row]), stack.grid.metre
    band = QRectF(0, y - HEADING, stack.layout.width, HEADING)
    section = stack.sections.get(bar)
    painter.fillRect(
        band, colours.ground if section is None else colours.sections[section % len(colours.sections)]
    )
    painter.fillRect(QRectF(0, y - HEADING, stack.layout.width, 1), colours.edge)
    font = head_font(painter.font())
    font.setBold(section is not None)
    painter.save()
    painter.setFont(font)
    painter.setPen(colours.text)
    painter.drawText(band.adjusted(stack.layout.left, 0, -8, 0), Qt.AlignmentFlag.AlignVCenter, words)
    if row and metre.at(bar) != metre.at(bar - 1):
        free = stack.layout.left + painter.fontMetrics().horizontalAdvance(words) + 8
        font.setBold(False)
        painter.setFont(font)
        painter.setPen(colours.faint)
        paint_beat_names(
            painter, stack.layout, metre.at(bar), top=band.top(), height=HEADING, free_from=free, ends=False
        )
    painter.restore()
