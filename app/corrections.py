"""Puts lines and ranges of bars right: each method is a command of `app.actions`, and ends in one edit."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.moment import Moment
from app.pointer import Pointer
from app.settings import Preferences
from app.state import Place
from app.walk import Walk
from app.workspace import Workspace
from core import gestures
from core.edits import Edit

NEAR = 8.0
"""Pixels within which a line that is placed with a key goes to an onset."""


class Corrections(QObject):
    """Turns what is selected, and where the pointer is, into edits.

    Parameters
    ----------
    workspace : Workspace
        Takes the edits.
    pointer : Pointer
        Knows the moment under the pointer.
    window : QWidget
        Over which questions appear.
    """

    def __init__(self, workspace: Workspace, pointer: Pointer, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._pointer, self._window = workspace, pointer, window
        self.preferences = Preferences()
        self._walk: Walk | None = None

    @property
    def moment(self) -> Moment:
        """What can be done now, as far as corrections go."""
        state, places = self._workspace.state, self._workspace.selection
        return Moment(state, places, walking=self._walk_in(places) is not None)

    def _walk_in(self, places: frozenset[Place]) -> Walk | None:
        document = self._workspace.state.document
        walk = self._walk
        if walk is None or document is None or places != {(walk.bar, 1)} or not walk.goes_on(document):
            return None
        return walk

    def _attempt(self, make: Callable[..., Edit], *arguments: object, **named: object) -> None:
        self._workspace.attempt(lambda document, grid: make(document, grid, *arguments, **named))

    # Lines

    def place_here(self) -> None:
        """Place a bar line under the pointer, else at the selected line, and select it."""
        time = self._pointer.time()
        onsets = self._workspace.state.onsets
        if self.preferences.snap and onsets is not None:
            onset = gestures.nearest_onset(onsets, time, NEAR * self._pointer.seconds_per_pixel())
            time = time if onset is None else onset
        before = self._workspace.state.document
        self._attempt(gestures.place_at, time)
        after = self._workspace.state.document
        if before is not None and after is not None:
            pins = set(after.pins) - set(before.pins)
            self._workspace.select(
                [(pin.bar, pin.beat) for pin in pins if pin.bar is not None and pin.time == time]
            )

    def keep_line(self) -> None:
        """Place the selected line where it is."""
        for place, line in self.moment.lines.items():
            self._attempt(gestures.drag, place, line.time)

    def let_go(self) -> None:
        """Let the selected lines go."""
        placed = [place for place, line in self.moment.lines.items() if line.placed]
        self._attempt(gestures.let_go, placed)

    def remove(self) -> None:
        """Let placed lines go, or take a suggested bar line out."""
        lines = self.moment.lines
        if len(lines) == 1 and next(iter(lines))[1] == 1:
            self._attempt(gestures.remove, next(iter(lines))[0])
        else:
            self.let_go()

    def accept_to_here(self) -> None:
        """Place everything suggested up to the selected bar line."""
        bars = self.moment.bars
        if bars is not None:
            self._attempt(gestures.accept, bars[1])

    def next_alternative(self) -> None:
        """Put the bar line on its next likely place."""
        self._step(1)

    def previous_alternative(self) -> None:
        """Put it back on the place before."""
        self._step(-1)

    def take_alternative(self, time: float) -> None:
        """Put the selected bar line on a certain one of its alternatives."""
        walk = self._begun()
        if walk is not None and time in walk.times:
            self._walk_to(Walk(walk.bar, walk.times, 1 + walk.times.index(time)))

    @property
    def alternatives(self) -> tuple[float, ...]:
        """Alternatives of the selected bar line, as first suggested."""
        walk = self._begun()
        return () if walk is None else walk.times

    def _begun(self) -> Walk | None:
        """The walk that goes on, or one that begins at the selected line."""
        walk = self._walk_in(self._workspace.selection)
        if walk is not None:
            return walk
        lines = list(self.moment.lines.values())
        if len(lines) == 1 and lines[0].beat == 1 and lines[0].alternatives:
            return Walk.of(lines[0])
        return None

    def _step(self, by: int) -> None:
        walk = self._begun()
        if walk is not None:
            self._walk_to(walk.stepped(by))

    def _walk_to(self, walk: Walk) -> None:
        before = self._workspace.state.document
        if walk.time is None:
            self._attempt(gestures.let_go, [(walk.bar, 1)])
        else:
            self._attempt(gestures.alternative, walk.bar, walk.time)
        if self._workspace.state.document != before:
            self._walk = walk

    def _nudge(self, thousandths: int) -> None:
        self._attempt(gestures.nudge, list(self.moment.lines), thousandths / 1000)

    def nudge_small_earlier(self) -> None:
        """Move the selected lines earlier by the small step."""
        self._nudge(-self.preferences.small)

    def nudge_small_later(self) -> None:
        """Move them later by the small step."""
        self._nudge(self.preferences.small)

    def nudge_middle_earlier(self) -> None:
        """Move them earlier by the middle step."""
        self._nudge(-self.preferences.middle)

    def nudge_middle_later(self) -> None:
        """Move them later by the middle step."""
        self._nudge(self.preferences.middle)

    def nudge_large_earlier(self) -> None:
        """Move them earlier by the large step."""
        self._nudge(-self.preferences.large)

    def nudge_large_later(self) -> None:
        """Move them later by the large step."""
        self._nudge(self.preferences.large)

    # Ranges of bars

    def _over_range(self, make: Callable[..., Edit], *more: object) -> None:
        """From the selected bar on, or over the selected range where there is one."""
        bars = self.moment.bars
        if bars is not None:
            first, last = bars
            self._attempt(make, first, last if last > first else None, *more)

    def shift_earlier(self) -> None:
        """Bar lines go a beat earlier."""
        self._over_range(gestures.shift, -1)

    def shift_later(self) -> None:
        """Bar lines go a beat later."""
        self._over_range(gestures.shift, 1)

    def halve_bars(self) -> None:
        """Bars become half as long."""
        self._over_range(gestures.halve)

    def double_bars(self) -> None:
        """Bars become twice as long."""
        self._over_range(gestures.double)

    def mark_free(self) -> None:
        """The selected bars have no pulse."""
        bars = self.moment.bars
        if bars is not None:
            self._attempt(gestures.free, *bars)

    def unmark_free(self) -> None:
        """They have one again."""
        bars, document = self.moment.bars, self._workspace.state.document
        if bars is not None and document is not None:
            found = [bar for bar in document.free if bars[0] <= bar <= bars[1]]
            self._attempt(gestures.unfree, found[0])

    def mark_hold(self) -> None:
        """The selected bars are held."""
        self._hold(held=True)

    def unmark_hold(self) -> None:
        """They are not."""
        self._hold(held=False)

    def _hold(self, *, held: bool) -> None:
        document = self._workspace.state.document
        if document is not None:
            bars = sorted({bar for bar, _ in self.moment.lines})
            for bar in [bar for bar in bars if (bar in document.holds) != held]:
                self._attempt(gestures.hold, bar, held)
