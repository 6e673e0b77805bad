"""The worker process as the window sees it: questions go out, answers come in, and nobody waits."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot

from app.child import Child
from app.questions import (
    Answer,
    Forget,
    Heard,
    Listen,
    Propose,
    Question,
    ReadTaps,
    Resume,
    Stage,
    Suggest,
    TapsRead,
)
from core.document import Document
from core.onsets import Onsets
from core.tap_bias import Habit


class Analysis(QObject):
    """One child process that hears takes and suggests bars; one question is open at a time, the newest.

    The process is started at once, so that it has its imports done when a take comes. It can be killed at any
    moment: what it knows is only what it was told, and it is told again.
    """

    answered = Signal(object)
    """Heard, Proposed, Suggested or Refused: the answer to the newest question."""
    progressed = Signal(object)
    """Stage of the newest question."""
    tapped = Signal(object)
    """TapsRead: the answer to the newest question about taps."""
    taps_lost = Signal()
    """The process has gone, and the question about taps with it."""
    died = Signal(str)
    """The process ended by itself, or could not be started; with what it wrote last. The question is lost."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._number = 0
        self._open = False
        self._taps = 0
        self._reading = False
        self._knows: Onsets | None = None
        self._child = Child("app.worker", self)
        self._child.said.connect(self._take)
        self._child.died.connect(self._lost)
        self.start()

    @property
    def busy(self) -> bool:
        """Whether an answer is being waited for."""
        return self._open

    @property
    def pid(self) -> int:
        """Process id of the child; 0 while there is none."""
        return self._child.pid

    def listen(self, path: Path) -> None:
        """Ask for the onsets of a take."""
        if self._open:
            # It would hear the take before to its end first.
            self.restart()
        self._knows = None
        self._ask(Listen(self._next(), path))

    def propose(self, onsets: Onsets) -> None:
        """Ask for a first document and its bars."""
        self._tell(onsets)
        self._ask(Propose(self._next()))

    def suggest(self, onsets: Onsets, document: Document) -> None:
        """Ask for the bars that follow from a document."""
        self._tell(onsets)
        self._ask(Suggest(self._next(), document))

    def read_taps(self, onsets: Onsets, document: Document, habit: Habit | None) -> None:
        """Ask for the lines of a document's taps, besides whatever else is asked."""
        self._tell(onsets)
        self._taps += 1
        self._reading = self._child.runs
        self._child.send(ReadTaps(self._taps, document, habit))

    def forget(self) -> None:
        """Stop whatever is being worked out, and give back the memory of a take."""
        if self._open:
            self.restart()
        elif self._knows is not None:
            self._child.send(Forget())
        self._knows = None

    def restart(self) -> None:
        """Kill the process and start another; the open question is dropped."""
        self._child.kill()
        self._drop()
        self.start()

    def start(self) -> None:
        """Start a process where there is none."""
        self._child.start()

    def stop(self) -> None:
        """End the process for good; waits for it, but not for long."""
        self._child.stop()
        self._drop()

    def _next(self) -> int:
        self._number += 1
        return self._number

    def _tell(self, onsets: Onsets) -> None:
        self.start()
        if self._knows is not onsets:
            self._child.send(Resume(onsets))
            self._knows = onsets

    def _ask(self, question: Question) -> None:
        self.start()
        self._open = self._child.runs
        self._child.send(question)

    @Slot(object)
    def _take(self, answer: Answer) -> None:
        if isinstance(answer, TapsRead):
            if self._reading and answer.number == self._taps:
                self._reading = False
                self.tapped.emit(answer)
            return
        if not self._open or answer.number != self._number:
            return
        if isinstance(answer, Stage):
            self.progressed.emit(answer)
            return
        self._open = False
        if isinstance(answer, Heard):
            self._knows = answer.onsets
        self.answered.emit(answer)

    @Slot(str)
    def _lost(self, words: str) -> None:
        self._drop()
        self.died.emit(words)

    def _drop(self) -> None:
        self._knows, self._open = None, False
        if self._reading:
            self._reading = False
            self.taps_lost.emit()
