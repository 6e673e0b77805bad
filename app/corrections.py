"""Puts bars right: each method is a command of `app.actions`, and ends in one edit of the workspace."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.dialogs.metre import MetreDialog
from app.dialogs.name import NameDialog
from app.dialogs.number import NumberDialog
from app.moment import Moment
from app.pointer import Pointer
from app.settings import Preferences
from app.state import Place
from app.walk import Walk
from app.workspace import Workspace
from core import gestures
from core.document import Document
from core.edits import Edit
from core.grid import Beat, Grid
from core.metre import TimeSignature

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
        self._metre: tuple[int, MetreDialog] | None = None
        self._number: tuple[int, NumberDialog] | None = None
        self._name: tuple[int, NameDialog] | None = None

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

    # Counting

    def pickup_here(self) -> None:
        """The pickup begins at the selected line, else at the beat nearest to the pointer."""
        grid = self._workspace.state.grid
        if grid is None or not grid.beats:
            return
        time = self._pointer.time()
        place = next(iter(self.moment.lines), None) or _nearest(grid, time)
        self._attempt(gestures.pickup, place)

    def no_pickup(self) -> None:
        """Bar 1 begins with the music."""
        self._attempt(gestures.pickup, None)

    def change_metre(self) -> None:
        """Ask which metre holds from the selected bar on."""
        bar, document = self.moment.bar, self._workspace.state.document
        if bar is not None and document is not None:
            dialog = MetreDialog(bar, document.metre.at(bar), self._window)
            dialog.accepted.connect(self._metre_chosen)
            self._metre = (bar, dialog)
            dialog.open()

    def change_metre_throughout(self, signature: TimeSignature) -> None:
        """Take a metre from the first bar on; where that is what was heard, it stays."""
        grid = self._workspace.state.grid
        if grid is not None and grid.bar_lines and grid.metre.at(1) != signature:
            self._attempt(gestures.change_metre, min(grid.bar_lines[0].bar, 1), signature)

    def ask_metre_throughout(self) -> None:
        """Ask which metre holds from the first bar on."""
        document = self._workspace.state.document
        if document is not None:
            dialog = MetreDialog(1, document.metre.at(1), self._window)
            dialog.accepted.connect(self._metre_chosen)
            self._metre = (1, dialog)
            dialog.open()

    def _metre_chosen(self) -> None:
        if self._metre is not None:
            bar, dialog = self._metre
            self._attempt(gestures.change_metre, bar, dialog.signature)

    def renumber(self) -> None:
        """Ask which bar begins at the selected line."""
        bar = self.moment.bar
        if bar is not None:
            dialog = NumberDialog(bar, self._window)
            dialog.accepted.connect(self._number_chosen)
            self._number = (bar, dialog)
            dialog.open()

    def _number_chosen(self) -> None:
        if self._number is not None:
            bar, dialog = self._number
            self._attempt(gestures.renumber, bar, dialog.field.value())

    def count_from_here(self) -> None:
        """The selected bar is bar 1."""
        bar, document = self.moment.bar, self._workspace.state.document
        if bar is not None and document is not None:
            # Where nothing is placed yet there is no number that could be shifted: this line gets the first.
            self._attempt(gestures.count_from if document.pins else gestures.renumber, bar, 1)

    # Sections

    def name_section(self) -> None:
        """Ask for the name of a section that begins with the selected bar."""
        bar = self.moment.bar
        if bar is not None:
            self.ask_name(bar)

    def rename_section(self) -> None:
        """Ask for another name for the section that holds the selected bar."""
        bar = self.moment.section
        if bar is not None:
            self.ask_name(bar)

    def ask_name(self, bar: int) -> None:
        """Ask for the name of the section that begins with a bar."""
        document: Document | None = self._workspace.state.document
        sections = document.sections if document is not None else ()
        before = next((section.name for section in sections if section.bar == bar), "")
        dialog = NameDialog(bar, before, self._window)
        dialog.accepted.connect(self._name_chosen)
        self._name = (bar, dialog)
        dialog.open()

    def _name_chosen(self) -> None:
        if self._name is not None:
            bar, dialog = self._name
            self._attempt(gestures.name_section, bar, dialog.name)

    def remove_section(self) -> None:
        """The section that holds the selected bar is none."""
        bar = self.moment.section
        if bar is not None:
            self._attempt(gestures.remove_section, bar)


def _nearest(grid: Grid, time: float) -> Place:
    beat: Beat = min(grid.beats, key=lambda each: abs(each.time - time))
    return beat.bar, beat.beat
