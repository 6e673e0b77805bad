"""The only mutable owner of the work: it takes edits, asks for the bars that follow, and says what changed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from app.analysis import Analysis
from app.history import History
from app.picture import Picture, Reading
from app.questions import Answer, Heard, Proposed, Refused, Stage, Suggested
from app.state import Message, Place, State
from core.document import Document
from core.edits import Edit
from core.errors import BarwrightError
from core.gestures import preview
from core.grid import Grid
from core.pins import checked
from core.take import Take

GRIDS = 200
"""Grids of earlier documents that are kept, so that undo and redo show theirs at once."""

UNNOTICED = 300
"""Milliseconds an answer may take before anybody is told that it is being worked on."""


@dataclass(eq=False, slots=True)
class _Desk:
    """One take and all that belongs to it."""

    reading: Reading | None = None
    state: State = field(default_factory=State)
    picture: Picture | None = None
    history: History | None = None
    grids: OrderedDict[Document, Grid] = field(default_factory=OrderedDict)
    fits: bool = True  # whether the grid shown counts its bars as the document does

    def keep(self, document: Document, grid: Grid) -> None:
        self.grids[document] = grid
        self.grids.move_to_end(document)
        while len(self.grids) > GRIDS:
            self.grids.popitem(last=False)


class Workspace(QObject):
    """Owns the take, its document and its history; every widget shows `state` and asks for edits here.

    A take that is being opened takes the place of the one before only when it has bars: whatever goes wrong
    until then, the work before is there again.
    """

    changed = Signal(object, object)
    """State before and State now."""
    selected = Signal(object)
    """Frozen set of the places that are selected."""
    message = Signal(object)
    """Message for the strip under the timeline."""
    working = Signal(str, float)
    """What is being done and the share that is done, 0 to 1; an empty string when nothing is."""
    picture = Signal(object)
    """The picture of the take is there, or better than before; None when there is none."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = _Desk()
        self._before: _Desk | None = None
        self._opening: Reading | None = None
        self._readings: list[Reading] = []
        self._selection: frozenset[Place] = frozenset()
        self._stage = ("", 0.0)
        self._deaths = 0
        self._noticed = QTimer(self, singleShot=True, interval=UNNOTICED)
        self._noticed.timeout.connect(self._notice)
        self._analysis = Analysis(self)
        self._analysis.answered.connect(self._answered)
        self._analysis.progressed.connect(self._progressed)
        self._analysis.died.connect(self._died)

    @property
    def state(self) -> State:
        """What is shown now."""
        return self._desk.state

    @property
    def selection(self) -> frozenset[Place]:
        """Places that are selected; all of them are in the grid."""
        return self._selection

    @property
    def pictured(self) -> Picture | None:
        """What the lanes paint of the take."""
        return self._desk.picture

    @property
    def history(self) -> History | None:
        """Every edit so far, with the documents they led to; None until there is a first document."""
        return self._desk.history

    def open(self, path: Path) -> None:
        """Open a take; returns at once, and whatever happens is told by the signals."""
        self._give_up_reading()
        reading = Reading(Path(path))
        reading.read.connect(self._read)
        reading.pictured.connect(self._pictured)
        reading.failed.connect(self._failed)
        reading.finished.connect(self._forget_readings)
        self._readings.append(reading)
        self._opening = reading
        self._rest()
        reading.start()

    def close_take(self) -> None:
        """Close the take and whatever is being opened: an empty window."""
        self._give_up_reading()
        self._analysis.forget()
        self._lay_aside(self._before)
        self._before = None
        self._put(_Desk())
        self._rest()

    def cancel(self) -> None:
        """Stop what is being done; what was there stays, or comes back."""
        if self._opening is not None:
            name = self._opening.path.name
            self._give_up_reading()
            self._rest()
            self.message.emit(Message(f"Stopped: {name} was not opened."))
        elif self._unfinished is not None:
            name = self._unfinished.path.name
            self._analysis.forget()
            self._back()
            self._ask()
            self.message.emit(Message(f"Stopped: {name} was not opened."))
        elif self._analysis.busy:
            self._analysis.restart()
            self._settle()
            self.message.emit(Message("Analysis stopped: the next correction starts it again."))

    def do(self, edit: Edit) -> None:
        """Do one edit; where it cannot be, a message says why and nothing changes."""
        desk = self._desk
        if desk.history is None or desk.state.take is None:
            self.message.emit(Message("There are no bars to put right yet.", warning=True))
            return
        try:
            document = edit.apply(desk.history.document)
            checked(document.pins, document.metre, desk.state.take.duration)
        except BarwrightError as error:
            self.message.emit(Message(str(error), warning=True))
            return
        if document != desk.history.document:
            grid = desk.state.grid
            shown = preview(grid, edit) if grid is not None and desk.fits else None
            self._go_on(desk.history.then(edit, document), shown)

    def attempt(self, make: Callable[[Document, Grid], Edit]) -> None:
        """Make an edit from the present document and grid and do it; a refusal becomes a message."""
        desk = self._desk
        if desk.history is None or desk.state.grid is None:
            self.message.emit(Message("There are no bars to put right yet.", warning=True))
        elif not desk.fits:
            # What is on screen is numbered otherwise than the document: a gesture would hit another bar.
            self.message.emit(
                Message("The bars are just being counted anew: try again in a moment.", warning=True)
            )
        else:
            try:
                edit = make(desk.history.document, desk.state.grid)
            except BarwrightError as error:
                self.message.emit(Message(str(error), warning=True))
            else:
                self.do(edit)

    def undo(self) -> None:
        """Take back the last edit in force."""
        self.go_to(self.state.at - 1)

    def redo(self) -> None:
        """Do again what was taken back last."""
        self.go_to(self.state.at + 1)

    def go_to(self, at: int) -> None:
        """Undo or redo until so many edits are in force."""
        history = self._desk.history
        if history is not None and (there := history.going_to(at)).at != history.at:
            self._go_on(there, None)

    def select(self, places: Iterable[Place]) -> None:
        """Select places of the grid, and only these."""
        wanted = frozenset(places) & _places(self.state.grid)
        if wanted != self._selection:
            self._selection = wanted
            self.selected.emit(wanted)

    def stop(self) -> None:
        """End the worker process and every thread; for good, before the window goes."""
        self._noticed.stop()
        self._give_up_reading()
        for desk in (self._desk, self._before):
            self._lay_aside(desk)
        for reading in self._readings:
            reading.wait()
        self._analysis.stop()

    @property
    def _unfinished(self) -> Take | None:
        """Take on screen that has no bars yet."""
        return self.state.take if self._desk.history is None else None

    def _show(self, state: State) -> None:
        old, self._desk.state = self._desk.state, state
        self._tell(old)

    def _put(self, desk: _Desk) -> None:
        """Another take on screen."""
        old, self._desk = self._desk, desk
        if old is not self._before:
            self._lay_aside(old)
        self._tell(old.state)
        self.picture.emit(desk.picture)

    def _tell(self, old: State) -> None:
        still = self._selection & _places(self.state.grid) if self._selection else self._selection
        fewer, self._selection = still != self._selection, still
        self.changed.emit(old, self.state)
        if fewer:
            self.selected.emit(still)

    def _go_on(self, history: History, shown: Grid | None) -> None:
        """Go to another document; `shown` is a grid that counts its bars as that does."""
        desk, document = self._desk, history.document
        known = desk.grids.get(document)
        desk.history = history
        desk.fits = known is not None or shown is not None
        if known is not None:
            desk.keep(document, known)
        else:
            # Asked before anybody is told, so that an edit made in answer to that asks later.
            self._suggest()
        grid = known or shown or desk.state.grid
        self._show(
            replace(
                desk.state,
                document=document,
                grid=grid,
                pending=known is None,
                history=history.words,
                at=history.at,
            )
        )

    def _ask(self) -> None:
        """Ask for whatever the take on screen has not got yet."""
        state = self.state
        if state.take is None:
            return
        if state.onsets is None:
            self._analysis.listen(state.take.path)
        elif state.document is None:
            self._analysis.propose(state.onsets)
        else:
            # Even where its bars are known: a worker that has suggested once answers quickly.
            self._suggest()

    def _suggest(self) -> None:
        history, onsets = self._desk.history, self.state.onsets
        if history is not None and onsets is not None:
            self._analysis.suggest(onsets, history.document)
            self._noticed.start()

    @Slot(object)
    def _answered(self, answer: Answer) -> None:
        self._deaths = 0
        desk = self._desk
        match answer:
            case Heard(_, onsets):
                self._show(replace(desk.state, onsets=onsets))
                self._ask()
            case Proposed(_, document, grid, sure, why):
                desk.history = History(document)
                desk.keep(document, grid)
                self._lay_aside(self._before)
                self._before = None
                self._show(replace(desk.state, document=document, grid=grid, sure=sure))
                if why:
                    self.message.emit(Message(why, warning=True))
            case Suggested(_, document, grid):
                desk.keep(document, grid)
                if document == desk.state.document:
                    desk.fits = True
                    if desk.state.pending or grid != desk.state.grid:
                        self._show(replace(desk.state, grid=grid, pending=False))
            case Refused(_, sentence, details):
                if self._unfinished is not None:
                    self._back()
                    self._ask()
                else:
                    self._settle()
                self.message.emit(Message(sentence, details, warning=True))
        self._rest()

    @Slot(object)
    def _progressed(self, stage: Stage) -> None:
        if self._opening is None:
            self._say(stage.words, stage.share)

    @Slot(str)
    def _died(self, words: str) -> None:
        self._deaths += 1
        if self._deaths == 1:
            self._analysis.start()
            self._ask()
            self._rest()
            self.message.emit(
                Message(
                    "The analysis ended unexpectedly and was started again; nothing is lost.", words, warning=True
                )
            )
            return
        # Not started again before it is asked for: it might do nothing but die.
        if self._unfinished is not None:
            self._back()
        self._settle()
        self.message.emit(
            Message(
                "The analysis ended again; your work is all here, and the next correction tries once more.",
                words,
                warning=True,
            )
        )

    def _settle(self) -> None:
        """No answer will come: what is shown stays."""
        if self.state.pending:
            self._show(replace(self.state, pending=False))
        self._rest()

    def _back(self) -> None:
        """Return to the take before, or to an empty window."""
        before, self._before = self._before, None
        self._put(before or _Desk())
        self._rest()

    @Slot(object, object)
    def _read(self, reading: Reading, take: Take) -> None:
        if reading is not self._opening:
            return
        self._opening = None
        if self._desk.history is not None:
            self._before = self._desk
        self._put(_Desk(reading, State(take=take)))
        self._ask()
        self._rest()

    @Slot(object, object)
    def _pictured(self, reading: Reading, picture: Picture) -> None:
        for desk in (self._desk, self._before):
            if desk is not None and desk.reading is reading:
                desk.picture = picture
        if self._desk.reading is reading:
            self.picture.emit(picture)

    @Slot(object, object)
    def _failed(self, reading: Reading, message: Message) -> None:
        if reading is self._opening:
            self._opening = None
            self._rest()
        elif reading is not self._desk.reading:
            return
        self.message.emit(message)

    def _give_up_reading(self) -> None:
        """Open nothing further than what is on screen."""
        if self._opening is not None:
            self._opening.cancel()
            self._opening = None

    def _lay_aside(self, desk: _Desk | None) -> None:
        """A take that will not come back needs no picture."""
        if desk is not None and desk.reading is not None:
            desk.reading.cancel()

    @Slot()
    def _forget_readings(self) -> None:
        for reading in [reading for reading in self._readings if reading.isFinished()]:
            self._readings.remove(reading)
            reading.deleteLater()

    @Slot()
    def _notice(self) -> None:
        if self._analysis.busy and self._opening is None:
            self._say("Finding the bars", 0.0)

    def _rest(self) -> None:
        """Say what is being done now that something has begun or ended."""
        if not self._analysis.busy:
            self._noticed.stop()
        if self._opening is not None:
            self._say(f"Reading {self._opening.path.name}", 0.0)
        elif not self._analysis.busy:
            self._say("", 0.0)

    def _say(self, words: str, share: float) -> None:
        if (words, share) != self._stage:
            self._stage = (words, share)
            self.working.emit(words, share)


def _places(grid: Grid | None) -> frozenset[Place]:
    return frozenset((beat.bar, beat.beat) for beat in grid.beats) if grid is not None else frozenset()
