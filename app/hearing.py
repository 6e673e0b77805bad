"""Hears the take bar by bar: each method is a command of `app.actions`."""

from __future__ import annotations

from bisect import bisect_right

from PySide6.QtCore import QObject

from app.listening import Listening
from app.stretches import bar_stretches, doubtful_stretches, section_stretch, selected_stretch


class Hearing(QObject):
    """Plays bars, selections and sections alone, as the strip says.

    Parameters
    ----------
    listening : Listening
        Plays, and knows what.
    """

    def __init__(self, listening: Listening) -> None:
        super().__init__(listening)
        self._listening = listening

    def hear_bar(self) -> None:
        """Hear the selected bar, or the one where was pointed to."""
        self._hear_bar(0)

    def hear_next_bar(self) -> None:
        """Select the next bar and hear it."""
        self._hear_bar(1)

    def hear_previous_bar(self) -> None:
        """Select the bar before and hear it."""
        self._hear_bar(-1)

    def hear_selection(self) -> None:
        """Hear the selected bars."""
        chosen = selected_stretch(self._listening.moment)
        if chosen is not None:
            self._listening.hear([chosen])

    def hear_section(self) -> None:
        """Hear the section that holds the selected bar."""
        section = section_stretch(self._listening.moment)
        if section is not None:
            self._listening.hear([section])

    def loop_section(self) -> None:
        """Hear the section that holds the selected bar again and again."""
        self._listening.loop()
        self.hear_section()

    def hear_doubtful(self) -> None:
        """Hear each bar that begins at a doubtful line, with one bar before it."""
        self._listening.hear(doubtful_stretches(self._listening.moment))

    def _hear_bar(self, step: int) -> None:
        """Hear the bar so many bars on, and select it."""
        moment = self._listening.moment
        bars, grid = bar_stretches(moment), moment.state.grid
        if not bars or grid is None:
            return
        known = [line.bar for line in grid.bar_lines]
        if moment.bar in known:
            here = known.index(moment.bar)
        else:
            here = bisect_right([start for start, _ in bars], self._listening.cursor) - 1
        i = min(max(here + step, 0), len(bars) - 1)
        if step or moment.bar is None:
            self._listening.go_to(known[i])
        self._listening.hear([bars[i]])
