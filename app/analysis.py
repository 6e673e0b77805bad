"""The worker process as the window sees it: questions go out, answers come in, and nobody waits."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from PySide6.QtCore import QIODeviceBase, QObject, QProcess, QProcessEnvironment, Signal, Slot

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
    Unpacker,
    packed,
)
from core.document import Document
from core.onsets import Onsets
from core.tap_bias import Habit

PATIENCE = 3000
"""Milliseconds a killed process may take to go when the window itself goes."""

_TAIL = 8000


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
        self._going: list[QProcess] = []
        self._process: QProcess | None = None
        self._stopped = False
        self.start()

    @property
    def busy(self) -> bool:
        """Whether an answer is being waited for."""
        return self._open

    @property
    def pid(self) -> int:
        """Process id of the child; 0 while there is none."""
        return self._process.processId() if self._process is not None else 0

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
        self._reading = self._process is not None
        self._send(ReadTaps(self._taps, document, habit))

    def forget(self) -> None:
        """Stop whatever is being worked out, and give back the memory of a take."""
        if self._open:
            self.restart()
        elif self._knows is not None:
            self._send(Forget())
        self._knows = None

    def restart(self) -> None:
        """Kill the process and start another; the open question is dropped."""
        self._kill()
        self.start()

    def start(self) -> None:
        """Start a process where there is none."""
        if self._process is not None or self._stopped:
            return
        process = QProcess(self)
        process.setProgram(sys.executable)
        process.setArguments(["-P", "-m", "app.worker"])
        process.setProcessEnvironment(_environment())
        process.readyReadStandardOutput.connect(self._read)
        process.readyReadStandardError.connect(self._keep_words)
        process.finished.connect(self._ended)
        process.errorOccurred.connect(self._failed)
        self._process, self._unpacker, self._words = process, Unpacker(), ""
        process.start(QIODeviceBase.OpenModeFlag.ReadWrite)

    def stop(self) -> None:
        """End the process for good; waits for it, but not for long."""
        self._stopped = True
        self._kill()
        for process in tuple(self._going):
            process.waitForFinished(PATIENCE)

    def _next(self) -> int:
        self._number += 1
        return self._number

    def _tell(self, onsets: Onsets) -> None:
        self.start()
        if self._knows is not onsets:
            self._send(Resume(onsets))
            self._knows = onsets

    def _ask(self, question: Question) -> None:
        self.start()
        self._open = self._process is not None
        self._send(question)

    def _send(self, question: Question) -> None:
        if self._process is not None:
            self._process.write(packed(question))
            if self._process.state() == QProcess.ProcessState.Running:
                # At once, so that the worker works while the window paints; else it would be sent after that.
                self._process.waitForBytesWritten(0)

    @Slot()
    def _read(self) -> None:
        if self._process is None:
            return
        for answer in self._unpacker.feed(bytes(self._process.readAllStandardOutput().data())):
            self._take(answer)  # type: ignore[arg-type]

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

    @Slot()
    def _keep_words(self) -> None:
        if self._process is not None:
            words = bytes(self._process.readAllStandardError().data()).decode(errors="replace")
            self._words = (self._words + words)[-_TAIL:]

    @Slot()
    def _ended(self) -> None:
        """Deal with a process that ended by itself; one that was killed no longer reports here."""
        if self._process is None:
            return
        self._keep_words()
        process, words = self._process, self._words
        how = process.exitStatus().name, process.exitCode()
        self._drop()
        process.deleteLater()
        self.died.emit(f"{words}\nThe worker process ended: {how[0]}, {how[1]}.".strip())

    @Slot(QProcess.ProcessError)
    def _failed(self, error: QProcess.ProcessError) -> None:
        # Every other error is followed by the end of the process.
        if error == QProcess.ProcessError.FailedToStart and self._process is not None:
            process = self._process
            self._drop()
            process.deleteLater()
            self.died.emit(f"{sys.executable}: {process.errorString()}")

    def _drop(self) -> None:
        self._process, self._knows, self._open = None, None, False
        if self._reading:
            self._reading = False
            self.taps_lost.emit()

    def _kill(self) -> None:
        process = self._process
        if process is None:
            return
        process.readyReadStandardOutput.disconnect(self._read)
        process.readyReadStandardError.disconnect(self._keep_words)
        process.finished.disconnect(self._ended)
        process.errorOccurred.disconnect(self._failed)
        self._drop()
        self._going.append(process)
        process.finished.connect(self._gone)
        process.kill()

    @Slot()
    def _gone(self) -> None:
        for process in [p for p in self._going if p.state() == QProcess.ProcessState.NotRunning]:
            self._going.remove(process)
            process.deleteLater()


def _environment() -> QProcessEnvironment:
    """Environment in which the child imports what this process imports, from wherever it is started."""
    environment = QProcessEnvironment.systemEnvironment()
    environment.insert("PYTHONPATH", os.pathsep.join(map(os.path.abspath, sys.path)))
    return environment
