"""Writes the beats of a metre above the places where they stand in an even bar."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter

from app.stack.layout import MARGIN, Layout
from core.metre import TimeSignature

GAP = 4.0
"""Pixels between two names; one that has no room is left out."""


def paint_beat_names(
    painter: QPainter,
    layout: Layout,
    signature: TimeSignature,
    *,
    top: float,
    height: float,
    free_from: float = 0.0,
    ends: bool = True,
) -> None:
    """Write them with the painter's font and pen.

    Parameters
    ----------
    top, height : float
        Pixels of the band they stand in.
    free_from : float
        Pixel from which there is room for them.
    ends : bool
        Whether the bar line and the one that closes the bar are named too.
    """
    metrics = painter.fontMetrics()
    phases = [float(start / signature.quarters) for start in signature.beat_quarters]
    names = [(phase, str(beat)) for beat, phase in enumerate(phases, 1) if beat > 1]
    if ends:
        # They come first, so that in a narrow window the others give way.
        names = [(0.0, "beat 1"), (1.0, "next bar"), *names]
    taken = [(0.0, free_from)]
    for phase, name in names:
        x, half = layout.left + layout.bar_width * (phase + MARGIN), metrics.horizontalAdvance(name) / 2
        if any(x - half - GAP < right and x + half + GAP > left for left, right in taken):
            continue
        taken.append((x - half, x + half))
        box = QRectF(x - half - GAP, top, 2 * (half + GAP), height)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, name)
