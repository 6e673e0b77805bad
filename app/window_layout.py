"""How the window lies, from one day to the next."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QSize
from PySide6.QtWidgets import QSplitter, QWidget

from app.settings import Settings

FIRST_SIZE = QSize(1280, 800)
PANEL_WIDTH = 280


class WindowLayout:
    """Keeps the size of a window and of the parts its splitters hold.

    Parameters
    ----------
    window : QWidget
        The window.
    whole : QSplitter
        Pages at the left, side panel at the right.
    splitters : dict of str to QSplitter
        Others, under the names they are kept by.
    settings : Settings
        Where they are kept.
    """

    def __init__(
        self, window: QWidget, whole: QSplitter, splitters: dict[str, QSplitter], settings: Settings
    ) -> None:
        self._window, self._whole, self._settings = window, whole, settings
        self._splitters = {"whole": whole, **splitters}
        self._first = {name: QByteArray(splitter.saveState()) for name, splitter in self._splitters.items()}

    def restore(self) -> None:
        """Lie as on the last day."""
        geometry = self._settings.layout("geometry")
        if geometry is None or not self._window.restoreGeometry(geometry):
            self._window.resize(FIRST_SIZE)
        for name, splitter in self._splitters.items():
            kept = self._settings.layout(name)
            if kept is not None:
                splitter.restoreState(kept)
        if self._settings.layout("whole") is None:
            self._share()

    def remember(self) -> None:
        """Keep how it lies."""
        self._settings.remember_layout("geometry", self._window.saveGeometry())
        for name, splitter in self._splitters.items():
            self._settings.remember_layout(name, QByteArray(splitter.saveState()))

    def forget(self) -> None:
        """Lie as on the first day."""
        self._settings.forget_layout()
        self._window.showNormal()
        self._window.resize(FIRST_SIZE)
        for name, splitter in self._splitters.items():
            splitter.restoreState(self._first[name])
        self._share()

    def _share(self) -> None:
        self._whole.setSizes([FIRST_SIZE.width() - PANEL_WIDTH, PANEL_WIDTH])
