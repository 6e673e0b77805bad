"""Starts the window: the app of Qt, its look, what catches faults, and one take if it was named."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")

from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from app.about import own_version
from app.faults import Faults
from app.last_run import LastRun
from app.main_window import MainWindow
from app.settings import Settings
from app.theme import Theme
from app.tidying import Tidying
from core.errors import InputError


def need_screen() -> None:
    """Refuse where Qt would end the process: on a Linux without a display.

    Raises
    ------
    InputError
        If there is none.
    """
    if sys.platform == "linux" and not any(map(os.environ.get, ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))):
        raise InputError('there is no screen for a window here; "barwright map TAKE --out DIR" works without one.')


def application() -> QApplication:
    """The app of Qt, made on the first call."""
    there = QApplication.instance()
    if isinstance(there, QApplication):
        return there
    QCoreApplication.setApplicationName("Barwright")
    QCoreApplication.setApplicationVersion(own_version())
    QGuiApplication.setApplicationDisplayName("Barwright")
    QGuiApplication.setDesktopFileName("barwright")
    return QApplication([sys.argv[0]])


def build_window(settings: Settings | None = None) -> MainWindow:
    """Put the window together without showing it or entering the event loop.

    Parameters
    ----------
    settings : Settings, optional
        What is remembered; the user's own when left out.
    """
    app = application()
    app.setStyle("Fusion")
    kept = settings or Settings()
    theme = Theme()
    theme.choose(kept.preferences.appearance)
    window = MainWindow(kept, theme)
    theme.setParent(window)
    return window


def run(argv: Sequence[str]) -> int:
    """Show the window until it is closed.

    Parameters
    ----------
    argv : sequence of str
        Empty, or the path of one take to open.

    Returns
    -------
    int
        Exit status.

    Raises
    ------
    InputError
        If there is no screen.
    """
    need_screen()
    # Ctrl+C in the terminal ends the app at once; the worker ends by itself when its pipe closes.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    app = application()
    settings = Settings()
    faults = Faults(settings.state_folder / "logs" / "fault.log")
    faults.install()
    tidying = Tidying()
    tidying.start()
    this_run = LastRun(settings.state_folder / "logs")
    fallen = this_run.begin()
    window = build_window(settings)
    faults.happened.connect(window.say)
    window.show()
    if fallen is not None:
        window.say(fallen)
    window.recovery.look()
    if argv:
        window.open_path(Path(argv[0]))
    try:
        return app.exec()
    finally:
        tidying.stop()
        this_run.end()
        faults.remove()
