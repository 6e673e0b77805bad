"""A strip over the page at the start: work that was not saved when the window ended, and what to do with it."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from PySide6.QtCore import Signal
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from app.colours import LIGHT, Colours
from app.message_strip import ElidedLabel
from app.recovery_jobs import Found
from app.strip import paint_strip


class RecoveryOffer(QFrame):
    """Offers one piece of work at a time."""

    taken_back = Signal()
    thrown_away = Signal()
    put_off = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = LIGHT
        self.setAccessibleName("Work that was not saved")
        self.words = ElidedLabel()
        self.back = QPushButton("Take it back")
        self.back.setToolTip("Open the take with all of it, to the last step, undo included")
        self.later = QPushButton("Later")
        self.later.setToolTip("Keep it and offer it at the next start")
        self.away = QPushButton("Throw it away…")
        self.away.setToolTip("Ask, and then keep it no longer")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 5, 8, 5)
        row.setSpacing(8)
        row.addWidget(self.words, 1)
        for button in (self.back, self.later, self.away):
            row.addWidget(button)
        self.back.clicked.connect(self.taken_back)
        self.later.clicked.connect(self.put_off)
        self.away.clicked.connect(self.thrown_away)
        self.hide()

    def paintEvent(self, _: QPaintEvent) -> None:
        """Set the strip apart from the page by its ground and a line."""
        paint_strip(self, self._colours)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._colours = colours
        self.update()

    def show_found(self, found: Found, count: int, now: datetime) -> None:
        """Offer this one; `count` with it wait."""
        steps = "1 step" if found.steps == 1 else f"{found.steps} steps"
        more = f" ({count - 1} more after this)" if count > 1 else ""
        cut = "; the very last could not be read" if found.cut else ""
        self.words.say(
            f"Not saved when Barwright ended: {steps} on {found.loaded.title}, until {moment(found.until, now)}"
            f"{cut}.{more}"
        )
        self.show()


def moment(then: datetime, now: datetime) -> str:
    """Tell a moment as one would say it."""
    clock = f"{then:%H:%M}"
    if then.date() == now.date():
        return clock
    if then.date() == now.date() - timedelta(days=1):
        return f"{clock} yesterday"
    return f"{clock} on {_day(then.date())}"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
