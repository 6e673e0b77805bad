"""Faults of our own: written down, told quietly, and never the end of the work."""

from __future__ import annotations

import logging
import os
import platform
import sys
import threading
import traceback
from functools import partial
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QMessageLogContext, QObject, QtMsgType, Signal, qInstallMessageHandler

from app.private import private_folder, without_home
from app.state import Message

LARGEST = 256 * 1024
"""Bytes of the log before a new one is begun; three old ones are kept."""


class _PrivateFile(RotatingFileHandler):
    """A log that the user alone may read: what went wrong may name takes."""

    def _open(self) -> TextIOWrapper:
        opener = partial(os.open, mode=0o600)
        return open(self.baseFilename, "a", encoding=self.encoding, opener=opener)


class Faults(QObject):
    """Catches what nobody caught, in slots and in threads alike.

    Parameters
    ----------
    log : Path
        File to write to; its folder is made when it is missing.
    """

    happened = Signal(object)
    """A `Message` for the window."""

    def __init__(self, log: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.log = log
        self._logger = logging.Logger("barwright")
        self._handler: logging.Handler
        try:
            private_folder(log.parent)
            self._handler = _PrivateFile(log, maxBytes=LARGEST, backupCount=3, encoding="utf-8", delay=True)
        except OSError:
            self._handler = logging.NullHandler()
        self._handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
        self._logger.addHandler(self._handler)

    def install(self) -> None:
        """Begin to catch."""
        self._before = sys.excepthook, threading.excepthook
        sys.excepthook = self._uncaught
        threading.excepthook = self._uncaught_in_thread
        self._qt_before = qInstallMessageHandler(self._from_qt)

    def remove(self) -> None:
        """Give back what caught before, and close the log."""
        sys.excepthook, threading.excepthook = self._before
        qInstallMessageHandler(self._qt_before)
        self._handler.close()

    def _uncaught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        told = "".join(traceback.format_exception(kind, error, trace))
        self._logger.error("%s", told)
        details = without_home(
            f"{told}\nPython {platform.python_version()}, {platform.platform()}\nLog: {self.log}"
        )
        sentence = "Something went wrong inside Barwright; your work is still here, and you can go on."
        self.happened.emit(Message(sentence, details, warning=True))

    def _uncaught_in_thread(self, told: threading.ExceptHookArgs) -> None:
        if told.exc_value is not None:
            self._uncaught(told.exc_type, told.exc_value, told.exc_traceback)

    def _from_qt(self, kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        levels = {
            QtMsgType.QtDebugMsg: logging.DEBUG,
            QtMsgType.QtInfoMsg: logging.INFO,
            QtMsgType.QtWarningMsg: logging.WARNING,
        }
        self._logger.log(levels.get(kind, logging.ERROR), "Qt: %s (%s)", text, context.category)
