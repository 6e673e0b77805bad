"""A process of the window's own: messages go out and come in, and nobody waits."""

from __future__ import annotations

import os
import sys

from PySide6.QtCore import QIODeviceBase, QObject, QProcess, QProcessEnvironment, Signal, Slot

from app.pipe import Unpacker, packed

PATIENCE = 3000
"""Milliseconds a killed process may take to go when the window itself goes."""

_TAIL = 8000


class Child(QObject):
    """Runs one module of ours in a process of its own, which can be killed and started again at any moment.

    Parameters
    ----------
    module : str
        What it runs. It reads messages of `app.pipe` from its standard input, writes others to its standard
        output, and ends when its input does.
    """

    said = Signal(object)
    """A message from the process."""
    died = Signal(str)
    """It ended by itself, or could not be started; with what it wrote last to its standard error."""

    def __init__(self, module: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._module = module
        self._going: list[QProcess] = []
        self._process: QProcess | None = None
        self._stopped = False

    @property
    def runs(self) -> bool:
        """Whether there is a process, or one is being started."""
        return self._process is not None

    @property
    def pid(self) -> int:
        """Its process id; 0 while there is none."""
        return self._process.processId() if self._process is not None else 0

    def start(self) -> None:
        """Start a process where there is none."""
        if self._process is not None or self._stopped:
            return
        process = QProcess(self)
        process.setProgram(sys.executable)
        process.setArguments(["-P", "-m", self._module])
        process.setProcessEnvironment(_environment())
        process.readyReadStandardOutput.connect(self._read)
        process.readyReadStandardError.connect(self._keep_words)
        process.finished.connect(self._ended)
        process.errorOccurred.connect(self._failed)
        self._process, self._unpacker, self._words = process, Unpacker(), ""
        process.start(QIODeviceBase.OpenModeFlag.ReadWrite)

    def send(self, message: object) -> None:
        """Send a message; without a process it is lost."""
        if self._process is not None:
            self._process.write(packed(message))
            if self._process.state() == QProcess.ProcessState.Running:
                # At once, so that the process works while the window paints; else it would be sent after that.
                self._process.waitForBytesWritten(0)

    def kill(self) -> None:
        """End the process, if there is one; nothing of it is heard any more."""
        process = self._process
        if process is None:
            return
        process.readyReadStandardOutput.disconnect(self._read)
        process.readyReadStandardError.disconnect(self._keep_words)
        process.finished.disconnect(self._ended)
        process.errorOccurred.disconnect(self._failed)
        self._process = None
        self._going.append(process)
        process.finished.connect(self._gone)
        process.kill()

    def stop(self) -> None:
        """End the process for good; waits for it, but not for long."""
        self._stopped = True
        self.kill()
        for process in tuple(self._going):
            process.waitForFinished(PATIENCE)

    @Slot()
    def _read(self) -> None:
        process = self._process
        if process is not None:
            for message in self._unpacker.feed(bytes(process.readAllStandardOutput().data())):
                # Whoever hears a message may kill the process; what it said before that is nobody's any more.
                if self._process is process:
                    self.said.emit(message)

    @Slot()
    def _keep_words(self) -> None:
        if self._process is not None:
            words = bytes(self._process.readAllStandardError().data()).decode(errors="replace")
            self._words = (self._words + words)[-_TAIL:]

    @Slot()
    def _ended(self) -> None:
        """Deal with a process that ended by itself; one that was killed no longer reports here."""
        process = self._process
        if process is None:
            return
        self._keep_words()
        how = process.exitStatus().name, process.exitCode()
        self._process = None
        process.deleteLater()
        self.died.emit(f"{self._words}\nThe process {self._module} ended: {how[0]}, {how[1]}.".strip())

    @Slot(QProcess.ProcessError)
    def _failed(self, error: QProcess.ProcessError) -> None:
        # Every other error is followed by the end of the process.
        if error == QProcess.ProcessError.FailedToStart and self._process is not None:
            process, self._process = self._process, None
            process.deleteLater()
            self.died.emit(f"{sys.executable}: {process.errorString()}")

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
