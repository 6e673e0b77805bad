"""The only mutable owner of the work: it takes edits, asks for the bars that follow, and says what changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal, Slot

from app.analysis import Analysis
from app.asking import Asking
from app.desk import Desk
from app.desks import Desks
from app.history import History
from app.picture import Picture, Pictures, Reading
from app.questions import Answer, Heard, Proposed, Refused, Stage, Suggested
from app.selection import Selection
from app.stages import Stages
from app.state import Message, Place, State
from app.tap_asking import TapAsking
from core.document import Document
from core.edits import Edit
from core.errors import BarwrightError
from core.grid import Grid
from core.onsets import Onsets
from core.take import MidiTake, Take
from core.tap_bias import Habit

_NO_BARS = "There are no bars to put right yet."
_OTHER_COUNT = "The bars are just being counted anew: try again in a moment."
_DIED = "The analysis ended unexpectedly and was started again; nothing is lost."
_DIED_AGAIN = "The analysis ended again; your work is all here, and the next correction tries once more."
_STOPPED = "Analysis stopped: the next correction starts it again."


class Workspace(QObject):
    """Owns the take, its document and its history; every widget shows `state` and asks for edits here."""

    changed = Signal(object, object)
    """State before and State now."""
    selected = Signal(object)
    """Frozen set of the places that are selected."""
    message = Signal(object)
    """Message for the strip under the timeline."""
    working = Signal(str, float)
    """What is being done and the share that is done, 0 to 1; an empty string when nothing is."""
    tapped = Signal(object)
    """`TapsRead`: the lines of the open taps, or why they could not be read."""
    picture = Signal(object)
    """The picture of the take is there, or better than before; None when there is none."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desks = Desks()
        self._selection = Selection()
        self._deaths = 0
        self._stages = Stages(self)
        self._stages.said.connect(self.working)
        self._pictures = Pictures(self)
        self._pictures.read.connect(self._read)
        self._pictures.pictured.connect(self._pictured)
        self._pictures.failed.connect(self._failed)
        self._analysis = Analysis(self)
        self._asking = Asking(self._analysis, self._stages)
        self._analysis.answered.connect(self._answered)
        self._analysis.progressed.connect(self._progressed)
        self._taps = TapAsking(self._analysis, self._desks, self)
        self._taps.tapped.connect(self.tapped)
        # Queued: it may die while it is being asked.
        self._analysis.died.connect(self._died, Qt.ConnectionType.QueuedConnection)

    @property
    def _desk(self) -> Desk:
        return self._desks.now

    @property
    def state(self) -> State:
        """What is shown now."""
        return self._desk.state

    @property
    def selection(self) -> frozenset[Place]:
        """Places that are selected; all of them are in the grid."""
        return self._selection.places

    @property
    def pictured(self) -> Picture | None:
        """What the lanes paint of the take."""
        return self._desk.picture

    @property
    def history(self) -> History | None:
        """Every edit so far, with the documents they led to; None until there is a first document."""
        return self._desk.history

    @property
    def resumes(self) -> History | None:
        """The work that was there already when the take shown was opened."""
        return self._desk.resumes

    def open(self, path: Path, resumes: History | None = None) -> None:
        """Open a take; returns at once, and whatever happens is told by the signals.

        Parameters
        ----------
        path : Path
            The recording.
        resumes : History, optional
            Work on it that is gone on with.
        """
        self._desks.give_up()
        reading = self._pictures.read_from(Path(path))
        self._desks.await_take(reading, resumes)
        self._stages.read(reading.path.name)

    def open_without(self, take: MidiTake, onsets: Onsets, resumes: History) -> None:
        """Go on with work whose recording is not there.

        Parameters
        ----------
        take, onsets : MidiTake, Onsets
            What stands in for it.
        resumes : History
            The work.
        """
        self._give_up_reading()
        old = self.state
        self._desks.lay_without(take, onsets, resumes)
        self._show(old)
        self._asking.ask(self._desk)

    def close_take(self) -> None:
        """Close the take and whatever is being opened: an empty window."""
        self._give_up_reading()
        self._analysis.forget()
        old = self.state
        self._desks.clear()
        self._show(old)
        self._stages.rest()

    def cancel(self) -> None:
        """Stop what is being done; what was there stays, or comes back."""
        if name := self._give_up_reading():
            self.message.emit(Message(f"Stopped: {name} was not opened."))
        elif (take := self._desk.unfinished) is not None:
            self._drop_unfinished()
            self.message.emit(Message(f"Stopped: {take.path.name} was not opened."))
        elif self._analysis.busy:
            self._analysis.restart()
            self._settle()
            self.message.emit(Message(_STOPPED))

    def do(self, edit: Edit) -> None:
        """Do one edit; where it cannot be, a message says why and nothing changes."""
        old = self.state
        try:
            self._desk.do(edit)
        except BarwrightError as error:
            self._refuse(error)
        else:
            self._go_on(old)

    def attempt(self, make: Callable[[Document, Grid], Edit]) -> None:
        """Make an edit from the present document and grid and do it; a refusal becomes a message."""
        document, grid = self.state.document, self.state.grid
        if document is None or grid is None:
            self.message.emit(Message(_NO_BARS, warning=True))
        elif not self._desk.fits:
            # What is on screen is numbered otherwise than the document: a gesture would hit another bar.
            old = self.state
            self._desk.expect()
            self._go_on(old)
            self.message.emit(Message(_OTHER_COUNT, warning=True))
        else:
            try:
                edit = make(document, grid)
            except BarwrightError as error:
                self._refuse(error)
            else:
                self.do(edit)

    def read_taps(self, habit: Habit | None) -> None:
        """Ask for the lines that the open taps would place; `tapped` tells them.

        Parameters
        ----------
        habit : Habit or None
            How the musician taps, if that was measured.
        """
        self._taps.ask(habit)

    def undo(self) -> None:
        """Take back the last edit in force."""
        self.go_to(self.state.at - 1)

    def redo(self) -> None:
        """Do again what was taken back last."""
        self.go_to(self.state.at + 1)

    def go_to(self, at: int) -> None:
        """Undo or redo until so many edits are in force."""
        old = self.state
        self._desk.go_to(at)
        self._go_on(old)

    def select(self, places: Iterable[Place]) -> None:
        """Select places of the grid, and only these."""
        if self._selection.choose(places, self.state.grid):
            self.selected.emit(self.selection)

    def stop(self) -> None:
        """End the worker process and every thread; for good, before the window goes."""
        self._give_up_reading()
        self._stages.rest()
        self._pictures.stop()
        self._analysis.stop()

    def _go_on(self, old: State) -> None:
        if self.state is not old:
            # Asked before anybody is told, so that an edit made in answer to that asks later.
            if self.state.pending:
                self._asking.suggest(self.state)
            self._tell(old)

    def _tell(self, old: State) -> None:
        """Say what is shown now; what is selected is in it."""
        fewer = self._selection.stay_in(self.state.grid)
        self.changed.emit(old, self.state)
        if fewer:
            self.selected.emit(self.selection)

    def _show(self, old: State) -> None:
        """Show another take."""
        self._tell(old)
        self.picture.emit(self._desk.picture)

    def _back(self) -> None:
        old = self.state
        self._desks.back()
        self._show(old)

    def _drop_unfinished(self) -> None:
        self._analysis.forget()
        self._stages.rest()
        self._back()
        self._asking.ask(self._desk)

    def _give_up_reading(self) -> str:
        name = self._desks.give_up()
        if name:
            self._stages.read("")
        return name

    def _settle(self) -> None:
        old = self.state
        self._desk.settle()
        self._go_on(old)
        self._stages.rest()

    def _refuse(self, error: BarwrightError) -> None:
        self.message.emit(Message(" ".join(str(error).split()), warning=True))

    @Slot(object, object)
    def _read(self, reading: Reading, take: Take) -> None:
        if reading is self._desks.reading:
            old = self.state
            try:
                self._desks.lay(reading, take)
            except BarwrightError as error:
                self._refuse(error)
            else:
                self._show(old)
                self._asking.ask(self._desk)
            self._stages.read("")

    @Slot(object, object)
    def _pictured(self, reading: Reading, picture: Picture) -> None:
        if self._desks.picture(reading, picture):
            self.picture.emit(picture)

    @Slot(object, object)
    def _failed(self, reading: Reading, message: Message) -> None:
        if reading is self._desks.reading:
            self._desks.give_up()
            self._stages.read("")
        elif reading is not self._desk.reading:
            return
        elif self._desk.unfinished is not None:
            # What cannot be read to its end cannot be listened to either.
            self._drop_unfinished()
        self.message.emit(message)

    @Slot(object)
    def _answered(self, answer: Answer) -> None:
        self._deaths = 0
        old = self.state
        match answer:
            case Heard(_, onsets):
                self._desk.hear(onsets)
                self._tell(old)
                self._asking.ask(self._desk)
            case Proposed(_, document, grid, sure, why):
                self._desks.arrive()
                self._desk.begin(document, grid, sure)
                self._tell(old)
                if why:
                    self.message.emit(Message(why, warning=True))
            case Suggested(_, _, grid) if self._desk.history is None and self._desk.resumes is not None:
                self._desks.arrive()
                self._desk.resume(self._desk.resumes, grid)
                self._tell(old)
            case Suggested(_, document, grid):
                self._desk.suggested(document, grid)
                self._go_on(old)
            case Refused(_, sentence, details):
                if self._desk.unfinished is not None:
                    self._drop_unfinished()
                else:
                    self._settle()
                self.message.emit(Message(sentence, details, warning=True))
        if not self._analysis.busy:
            self._stages.rest()

    @Slot(object)
    def _progressed(self, stage: Stage) -> None:
        self._stages.reach(stage.words, stage.share)

    @Slot(str)
    def _died(self, words: str) -> None:
        self._deaths += 1
        if self._deaths == 1:
            self._analysis.start()
            self._asking.ask(self._desk)
            self.message.emit(Message(_DIED, words, warning=True))
            return
        # Not started again before it is asked for: it might do nothing but die.
        if self._desk.unfinished is not None:
            self._back()
        self._settle()
        self.message.emit(Message(_DIED_AGAIN, words, warning=True))
