"""Goes to places and selects them: each method is a command of `app.actions`; nothing of the work changes."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.dialogs.go_to import GoToDialog
from app.moment import Moment
from app.span import Span
from app.state import Place
from app.timeline.timeline import Timeline
from app.workspace import Workspace
from core.grid import Beat

NARROW = 12.0
"""Pixels: where bars are narrower than this, going to one of them also zooms in."""

AROUND = 3
"""Bars shown to both sides of one that is zoomed in on."""


class Navigation(QObject):
    """Moves the part on screen and the selection.

    Parameters
    ----------
    workspace : Workspace
        Knows the bars and what is selected.
    timeline : Timeline
        Shows the part on screen.
    span : Span
        That part.
    window : QWidget
        Over which questions appear.
    """

    def __init__(self, workspace: Workspace, timeline: Timeline, span: Span, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._timeline, self._span, self._window = workspace, timeline, span, window
        self._number: GoToDialog | None = None

    @property
    def _moment(self) -> Moment:
        return Moment(self._workspace.state, self._workspace.selection)

    @property
    def _bar_lines(self) -> tuple[Beat, ...]:
        grid = self._workspace.state.grid
        return () if grid is None else grid.bar_lines

    # Zoom

    def fit(self) -> None:
        """Show the whole take."""
        self._timeline.fit()

    def zoom_in(self) -> None:
        """Show less, larger."""
        self._timeline.zoom_in()

    def zoom_out(self) -> None:
        """Show more."""
        self._timeline.zoom_out()

    def zoom_to_bar(self) -> None:
        """Show the selected bar, or the one in the middle."""
        bar = self._moment.bar
        if bar is None:
            middle = 0.5 * (self._span.start + self._span.end)
            bar = max((line.bar for line in self._bar_lines if line.time <= middle), default=None)
        if bar is not None:
            self._timeline.zoom_to(bar, 1)

    def zoom_to_selection(self) -> None:
        """Show all that is selected."""
        self._timeline.zoom_selection()

    # Going

    def go_to_place(self, place: Place) -> None:
        """Select a line and bring it on screen, near enough to be worked on."""
        self._workspace.select([place])
        lines = self._bar_lines
        line = next(iter(self._moment.lines.values()), None)
        if line is None:
            return
        i = min(range(len(lines)), key=lambda k: abs(lines[k].time - line.time)) if lines else 0
        near = lines[max(i - AROUND, 0) : i + AROUND + 2]
        bar = (near[-1].time - near[0].time) / (len(near) - 1) if len(near) > 1 else 0.0
        if bar and bar / self._span.seconds_per_pixel < NARROW:
            self._span.show(line.time - 2 * AROUND * bar, line.time + 2 * AROUND * bar)
        else:
            self._span.reveal(line.time)

    def _go(self, among: list[Beat], step: int) -> None:
        """To the next or previous of some lines, round the end of the take where there is none."""
        if not among:
            return
        chosen = list(self._moment.lines.values())
        at = chosen[0].time if chosen else self._span.start
        if step > 0:
            found = [line for line in among if line.time > at or (not chosen and line.time == at)]
            line = found[0] if found else among[0]
        else:
            found = [line for line in among if line.time < at]
            line = found[-1] if found else among[-1]
        self.go_to_place((line.bar, line.beat))

    def next_doubtful(self) -> None:
        """Go to the next doubtful bar line."""
        self._go([line for line in self._bar_lines if line.doubtful], 1)

    def previous_doubtful(self) -> None:
        """Go to the doubtful bar line before."""
        self._go([line for line in self._bar_lines if line.doubtful], -1)

    def next_line(self) -> None:
        """Select the next bar line."""
        self._go(list(self._bar_lines), 1)

    def previous_line(self) -> None:
        """Select the bar line before."""
        self._go(list(self._bar_lines), -1)

    def go_to_bar(self) -> None:
        """Ask for a bar and go there."""
        lines = self._bar_lines
        if lines:
            self._number = GoToDialog(self._moment.bar or lines[0].bar, lines[0].bar, lines[-1].bar, self._window)
            self._number.accepted.connect(self._bar_chosen)
            self._number.open()

    def _bar_chosen(self) -> None:
        if self._number is not None:
            self.go_to_place((self._number.field.value(), 1))

    # Selecting

    def _select(self, first: float, last: float) -> None:
        self._workspace.select([(line.bar, 1) for line in self._bar_lines if first <= line.time <= last])

    def select_all(self) -> None:
        """Select every bar line."""
        self._select(float("-inf"), float("inf"))

    def select_none(self) -> None:
        """Select nothing."""
        self._workspace.select([])

    def select_to_end(self) -> None:
        """Select from the first selected line to the last bar line."""
        self._select(next(iter(self._moment.lines.values())).time, float("inf"))

    def select_to_start(self) -> None:
        """Select from the first bar line to the last selected line."""
        self._select(float("-inf"), list(self._moment.lines.values())[-1].time)

    def select_section(self) -> None:
        """Select the bar lines of the section that holds the selected bar."""
        document, first = self._workspace.state.document, self._moment.section
        if document is not None and first is not None:
            end = min((each.bar for each in document.sections if each.bar > first), default=None)
            chosen = [
                (line.bar, 1) for line in self._bar_lines if line.bar >= first and (end is None or line.bar < end)
            ]
            self._workspace.select(chosen)
