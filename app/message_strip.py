"""The strip along the foot of the window: what was said, what is being worked on, and how the take stands."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetrics, QGuiApplication, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QSizePolicy, QToolButton, QWidget

from app.colours import LIGHT, Colours
from app.icon import icon, pixmap
from app.sayings import clock
from app.state import Message, State

SHOWN = 8000
"""Milliseconds a sentence stays, and as many more as it has long words to read."""

KEPT = 200
"""Messages that can be read again."""

STEPS = 1000


class ElidedLabel(QLabel):
    """A label of one line that ends in three dots where it does not fit, and says all in its tool tip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setTextFormat(Qt.TextFormat.PlainText)

    def say(self, text: str) -> None:
        """Show a text."""
        self._whole = text
        self._fit()

    def whole(self) -> str:
        """The text without its three dots."""
        return self._whole

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the text again."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        shown = QFontMetrics(self.font()).elidedText(self._whole, Qt.TextElideMode.ElideRight, self.width())
        self.setText(shown)
        self.setAccessibleName(self._whole)
        self.setToolTip(self._whole if shown != self._whole else "")


class MessageStrip(QFrame):
    """Says things quietly; nothing here ever stops the work."""

    cancelled = Signal()
    list_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.messages: list[Message] = []
        self._shown: Message | None = None
        self._colours: Colours = LIGHT
        self.setObjectName("messageStrip")
        self.setAccessibleName("Messages and progress")

        self.sign = QLabel()
        self.sign.setFixedWidth(20)
        self.text = ElidedLabel()
        self.copy = QToolButton()
        self.copy.setText("Copy details")
        self.copy.setToolTip("Copy what happened, for a report")
        self.copy.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.copy.clicked.connect(self.copy_details)
        self.stage = QLabel()
        self.bar = QProgressBar()
        self.bar.setRange(0, STEPS)
        self.bar.setTextVisible(False)
        self.bar.setFixedSize(QSize(140, 10))
        self.bar.setAccessibleName("Progress")
        self.cancel = QToolButton()
        self.cancel.setText("Cancel")
        self.cancel.setToolTip("Stop what is being worked on")
        self.cancel.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.cancel.clicked.connect(self.cancelled)
        self.where = QLabel()
        self.where.setAccessibleName("Where the pointer is")
        self.counts = QLabel()
        self.counts.setAccessibleName("How the take stands")
        self.listing = QToolButton()
        self.listing.setText("Messages")
        self.listing.setToolTip("Read earlier messages again")
        self.listing.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.listing.clicked.connect(self.list_wanted)
        for button in (self.copy, self.cancel, self.listing):
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setIconSize(QSize(16, 16))

        row = QHBoxLayout(self)
        row.setContentsMargins(12, 3, 12, 3)
        row.setSpacing(8)
        row.addWidget(self.sign)
        row.addWidget(self.text, 1)
        for widget in (self.copy, self.stage, self.bar, self.cancel, self.where, self.counts, self.listing):
            row.addWidget(widget)
        self._fade = QTimer(self)
        self._fade.setSingleShot(True)
        self._fade.timeout.connect(self.clear)
        self.clear()
        self.work("", 0.0)
        self.count(State())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Set the strip apart by a line; a style sheet would keep the colours of its first day."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setPen(self._colours.edge)
        painter.drawLine(0, 0, self.width(), 0)
        painter.end()

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._colours = colours
        self.copy.setIcon(icon("copy", colours))
        self.cancel.setIcon(icon("cancel", colours))
        self.listing.setIcon(icon("messages", colours))
        self._show_sign()

    def say(self, message: Message) -> None:
        """Show a message for a while and keep it for the list."""
        self.messages = [*self.messages, message][-KEPT:]
        self._shown = message
        self.text.say(message.text)
        self.copy.setVisible(bool(message.details))
        self._show_sign()
        # What went wrong stays twice as long: it may have come while the eyes were on the music.
        self._fade.start((SHOWN + 40 * len(message.text)) * (2 if message.warning else 1))

    def clear(self) -> None:
        """Let the sentence go; it is still in the list."""
        self._shown = None
        self.text.say("")
        self.copy.hide()
        self._show_sign()

    def forgive(self) -> None:
        """Something has been done since: a refusal before it is of no more use."""
        if self._shown is not None and self._shown.warning and not self._shown.details:
            self._fade.stop()
            self.clear()

    def hint(self, text: str) -> None:
        """Show what a command does, for as long as the pointer is on it; an empty text ends that."""
        self.text.say(text or (self._shown.text if self._shown is not None else ""))

    def stop(self) -> None:
        """Stop the clock before the window closes."""
        self._fade.stop()

    def copy_details(self) -> None:
        """Put the details of the message shown on the clipboard."""
        if self._shown is not None:
            QGuiApplication.clipboard().setText(f"{self._shown.text}\n\n{self._shown.details}")

    def work(self, stage: str, share: float) -> None:
        """Show what is being worked on and how much of it is done, 0 to 1; an empty stage ends it."""
        for widget in (self.stage, self.bar, self.cancel):
            widget.setVisible(bool(stage))
        self.stage.setText(stage)
        self.bar.setValue(round(STEPS * share))

    def locate(self, words: str) -> None:
        """Say where the pointer is."""
        self.where.setText(f"{words}   ·" if words else "")

    def count(self, state: State) -> None:
        """Show bars, placed and doubtful lines, and the length of the take."""
        if state.take is None:
            self.counts.setText("No take")
            return
        parts = [clock(state.take.duration)]
        if state.grid is not None and state.document is not None:
            lines = state.grid.bar_lines
            placed = sum(line.placed for line in lines)
            doubtful = sum(line.doubtful for line in lines)
            bars = max(len(lines) - 1, 0)
            parts = [f"{bars} bar{'' if bars == 1 else 's'}", f"{placed} placed", f"{doubtful} doubtful", *parts]
        self.counts.setText("   ·   ".join(parts))

    def _show_sign(self) -> None:
        warning = self._shown is not None and self._shown.warning
        self.sign.setVisible(warning)
        if warning:
            self.sign.setPixmap(pixmap("warning", self._colours.warning, 16, self.devicePixelRatioF()))
            self.sign.setToolTip("This did not go as asked")
