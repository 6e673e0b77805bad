"""While a pass runs, keys go to the pad whatever is clicked, so that Space is always a tap."""

from __future__ import annotations

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid


class TapKeys(QObject):
    """Holds the keys of a window on one widget from start to stop, and gives them back where they were.

    Parameters
    ----------
    pad : QWidget
        Where they are held.
    """

    def __init__(self, pad: QWidget, parent: QObject) -> None:
        super().__init__(parent)
        self._pad = pad
        self._before: QWidget | None = None
        self._on = False

    def start(self) -> None:
        """Hold them."""
        if not self._on:
            self._on = True
            self._before = QApplication.focusWidget()
            self._pad.setFocus()
            QApplication.instance().focusChanged.connect(self._moved)  # type: ignore[union-attr]

    def stop(self) -> None:
        """Give them back."""
        if self._on:
            self._on = False
            QApplication.instance().focusChanged.disconnect(self._moved)  # type: ignore[union-attr]
            # A list that is made anew takes its editor along, a dialog its fields.
            if self._before is not None and self._before is not self._pad and isValid(self._before):
                self._before.setFocus()
            self._before = None

    @Slot(QWidget, QWidget)
    def _moved(self, _: QWidget | None, now: QWidget | None) -> None:
        # Dialogs and menus are windows of their own and keep theirs.
        if now is not None and now is not self._pad and now.window() is self._pad.window():
            self._before = now
            self._pad.setFocus()
