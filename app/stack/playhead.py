"""Where in the rows the take is being played."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QRect

from app.stack.layout import TITLES
from app.stack.scene import Stack

WIDTH = 2


def playhead_rect(stack: Stack, time: float, scroll: float) -> QRect | None:
    """Pixels of the playhead in the viewport; None where no row holds this moment.

    Parameters
    ----------
    stack : Stack
    time : float
        Seconds of take time.
    scroll : float
        Pixels the rows are scrolled by.
    """
    times = stack.lines.bar_time
    i = int(np.searchsorted(times, time, side="right")) - 1
    if not 0 <= i < len(times) - 1:
        return None
    row = stack.rows.row_of(int(stack.lines.bar_number[i]))
    if row is None:
        return None
    phase = (time - times[i]) / (times[i + 1] - times[i])
    x = round(float(stack.layout.x_of(np.array(phase))))
    top = round(TITLES + float(stack.layout.tops[row]) - scroll)
    high = round(stack.layout.row_height)
    # Rows scroll away under the titles.
    hidden = max(TITLES - top, 0)
    return QRect(x, top + hidden, WIDTH, high - hidden) if hidden < high else None
