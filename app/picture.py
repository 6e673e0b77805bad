"""Reads what the lanes paint of a take, in a thread of the window's process."""

from __future__ import annotations

import traceback
from pathlib import Path

from PySide6.QtCore import QObject, QThread, Signal, Slot

from app.state import Message
from core.errors import BarwrightError
from core.peaks import Peaks, build
from core.read_take import read_take
from core.take import MidiTake

Picture = MidiTake | Peaks
"""What the lanes paint of a take: its notes, or the peaks of its waveform."""


class Cancelled(BaseException):
    """The picture is no longer wanted; not an Exception, so that nobody on the way up takes it for a fault."""


class Reading(QThread):
    """Reads one take: first what it is, then its picture, which may come in better and better versions.

    Every signal names its reading, so that whoever has gone on to another take knows an old one.
    """

    read = Signal(object, object)
    """This reading, and the take."""
    pictured = Signal(object, object)
    """This reading, and a picture: a MidiTake or Peaks."""
    failed = Signal(object, object)
    """This reading, and a Message."""

    def __init__(self, path: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.path = path

    def cancel(self) -> None:
        """Ask it to end soon; nothing of it is heard any more."""
        self.requestInterruption()

    def run(self) -> None:
        """Read; the thread's own part."""
        try:
            self._read()
        except Cancelled:
            pass
        except (BarwrightError, OSError) as error:
            self.failed.emit(self, Message(_sentence(self.path, error), warning=True))
        except Exception as error:
            words = f"{self.path.name} cannot be shown ({type(error).__name__}: {error})."
            self.failed.emit(self, Message(" ".join(words.split()), traceback.format_exc(), warning=True))

    def _read(self) -> None:
        take = read_take(self.path)
        self._go_on()
        self.read.emit(self, take)
        if isinstance(take, MidiTake):
            self.pictured.emit(self, take)
            return
        self._show(build(take, progress=self._progress, partial=self._show))

    def _progress(self, _: float) -> None:
        self._go_on()

    def _show(self, picture: object) -> None:
        self._go_on()
        self.pictured.emit(self, picture)

    def _go_on(self) -> None:
        if self.isInterruptionRequested():
            raise Cancelled


class Pictures(QObject):
    """The readings under way: none is dropped while its thread runs."""

    read = Signal(object, object)
    pictured = Signal(object, object)
    failed = Signal(object, object)
    """As those of `Reading`; of one that was cancelled, some may still come."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._readings: list[Reading] = []

    @property
    def busy(self) -> bool:
        """Whether anything is being read, cancelled readings included."""
        return bool(self._readings)

    def read_from(self, path: Path) -> Reading:
        """Begin to read a take."""
        reading = Reading(path)
        reading.read.connect(self.read)
        reading.pictured.connect(self.pictured)
        reading.failed.connect(self.failed)
        reading.finished.connect(self._forget)
        self._readings.append(reading)
        reading.start()
        return reading

    def stop(self) -> None:
        """Cancel all and wait until they have ended."""
        for reading in self._readings:
            reading.cancel()
        for reading in self._readings:
            reading.wait()

    @Slot()
    def _forget(self) -> None:
        self._readings = [reading for reading in self._readings if not reading.isFinished()]


def _sentence(path: Path, error: BarwrightError | OSError) -> str:
    if isinstance(error, BarwrightError):
        return " ".join(str(error).split())
    return f"{path} cannot be read ({error.strerror or error}): copy it to another disk and try again."
