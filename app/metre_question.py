"""A strip over the page, once after opening: the metre that was heard, and what helps most next."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QButtonGroup, QFrame, QHBoxLayout, QLabel, QPushButton, QToolButton, QWidget

from app.colours import LIGHT, Colours
from app.dialogs.metre import written
from app.icon import icon
from app.message_strip import ElidedLabel
from app.state import State
from app.strip import paint_strip
from core.metre import TimeSignature

CHOICES = ("4/4", "3/4", "6/8")
OTHER = "Other…"
UNSURE = 0.75
"""Below this the first proposal is asked about."""


class MetreQuestion(QFrame):
    """Asks about the metre that was heard, then says what helps most next."""

    chosen = Signal(object)
    """A `TimeSignature`."""
    other_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = LIGHT
        self.setAccessibleName("Question about the metre")
        self.words = QLabel()
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.then = ElidedLabel()
        self.then.say("Then drag the first two bar lines into place.")
        self.buttons = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 5, 8, 5)
        row.setSpacing(8)
        row.addWidget(self.words)
        for text in (*CHOICES, OTHER):
            button = QPushButton(text)
            button.setToolTip(
                "Ask for another metre" if text == OTHER else f"The take is in {text} from its beginning"
            )
            button.setFixedWidth(button.fontMetrics().horizontalAdvance(text) + 22)
            self.buttons.addButton(button)
            row.addWidget(button)
        row.addSpacing(6)
        row.addWidget(self.then, 1)
        self.dismiss = QToolButton()
        self.dismiss.setAutoRaise(True)
        self.dismiss.setAccessibleName("Dismiss")
        self.dismiss.setToolTip("Leave it as it was heard")
        self.dismiss.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.dismiss.clicked.connect(self.hide)
        row.addWidget(self.dismiss)
        self.buttons.buttonClicked.connect(self._clicked)
        self.hide()

    def paintEvent(self, _: QPaintEvent) -> None:
        """Set the strip apart from the page by its ground and a line."""
        paint_strip(self, self._colours)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._colours = colours
        self.dismiss.setIcon(icon("cancel", colours))

    def show_change(self, old: State, new: State) -> None:
        """Ask when a first proposal arrives that is not sure; be gone when the take goes."""
        if new.take is None or new.take is not old.take:
            self.hide()
        first = new.document is not None and (old.document is None or new.take is not old.take)
        if first and new.sure is not None and new.document is not None:
            unsure = min(new.sure.metre, new.sure.tempo) < UNSURE
            self.words.setText(f"Heard as {written(new.document.metre.at(1))}, not sure. Metre:")
            self.setVisible(unsure)
        elif new.at >= 3 and self.isVisible():
            # The musician is at work and needs no more telling.
            self.hide()

    def _clicked(self, button: QPushButton) -> None:
        if button.text() == OTHER:
            self.other_wanted.emit()
        else:
            self.chosen.emit(TimeSignature.parse(button.text()))
        self.words.setText("Good.")
        for each in self.buttons.buttons():
            each.hide()
