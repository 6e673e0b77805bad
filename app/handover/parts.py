"""Small parts of the page: fields, texts and names.

The form scrolls, so the wheel over a field scrolls on and changes nothing by accident.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QLabel, QSizePolicy, QSpinBox, QWidget


class Choice(QComboBox):
    """A list to choose from, with a value behind every entry."""

    def __init__(self, *entries: tuple[str, object], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)
        for words, value in entries:
            self.addItem(words, value)

    @property
    def value(self) -> Any:
        """What is chosen."""
        return self.currentData()

    def choose(self, value: object, words: str = "") -> None:
        """Choose a value; one that is not in the list is added to it."""
        at = next((i for i in range(self.count()) if self.itemData(i) == value), -1)
        if at < 0:
            self.addItem(words or str(value), value)
            at = self.count() - 1
        self.setCurrentIndex(at)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave it to the form."""
        event.ignore()


TALLER = 9
"""Pixels of a field above and below its words: Qt makes those for numbers lower than lists."""


class Whole(QSpinBox):
    """A whole number."""

    def __init__(self, least: int, most: int, unit: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumHeight(self.fontMetrics().height() + TALLER)
        self.setRange(least, most)
        self.setSuffix(unit)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave it to the form."""
        event.ignore()


class Decimal(QDoubleSpinBox):
    """A number with a decimal place."""

    def __init__(self, least: float, most: float, unit: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumHeight(self.fontMetrics().height() + TALLER)
        self.setDecimals(1)
        self.setRange(least, most)
        self.setSuffix(unit)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave it to the form."""
        event.ignore()


def prose(words: str = "", *, role: str = "") -> QLabel:
    """A text that wraps; the page's style gives each role (``help``, ``title``, ``warning``) its look."""
    label = QLabel(words)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", role)
    return label


class FileName(QLabel):
    """A file name on one line; one that does not fit loses its middle, for its ending says what it is."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.whole = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def say(self, name: str) -> None:
        """Show a name."""
        self.whole = name
        self.setAccessibleName(name)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the name again."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        shown = self.fontMetrics().elidedText(self.whole, Qt.TextElideMode.ElideMiddle, self.width())
        self.setText(shown)
        self.setToolTip(self.whole if shown != self.whole else "")
