"""Work that would hold up the window, done away from it; an answer that nobody waits for any more is dropped."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from threading import Thread

from PySide6.QtCore import QObject, Signal, Slot


class Errands(QObject):
    """Runs one piece of work at a time in a thread of its own; of those that wait only the newest is run."""

    done = Signal(object)
    """What the newest piece of work returned."""
    failed = Signal(object)
    """The exception it raised."""
    _ended = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._newest = self._running = 0
        self._waiting: Callable[[], object] | None = None
        self._thread: Thread | None = None
        self._ended.connect(self._finish)

    @property
    def busy(self) -> bool:
        """Whether something is being worked on."""
        return self._thread is not None

    def ask(self, work: Callable[[], object]) -> None:
        """Have this done; whatever was asked before is not wanted any more."""
        self._newest += 1
        self._waiting = work
        if self._thread is None:
            self._next()

    def drop(self) -> None:
        """Want no answer to anything asked so far."""
        self._newest += 1
        self._waiting = None

    def stop(self) -> None:
        """Drop everything, and stay until what is being done has ended."""
        self.drop()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _next(self) -> None:
        work, self._waiting = self._waiting, None
        if work is not None:
            self._running = self._newest
            self._thread = Thread(target=self._run, args=(self._newest, work), name="errand")
            self._thread.start()

    def _run(self, number: int, work: Callable[[], object]) -> None:
        answer, failure = None, None
        try:
            answer = work()
        except Exception as error:  # told in the thread of the window
            failure = error
        # The window may have gone meanwhile, and with it whoever would listen.
        with suppress(RuntimeError):
            self._ended.emit(number, answer, failure)

    @Slot(int, object, object)
    def _finish(self, number: int, answer: object, failure: object) -> None:
        if self._thread is None or number != self._running:
            return  # from before it was stopped
        self._thread.join()
        self._thread = None
        if number == self._newest:
            if failure is None:
                self.done.emit(answer)
            else:
                self.failed.emit(failure)
        if self._thread is None:
            self._next()
