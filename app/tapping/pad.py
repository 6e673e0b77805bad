"""The pad: a wide button that is struck, not clicked, and lights up with every tap wherever that came from."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QWidget

from app.colours import colours_for

LIT = 110
"""Milliseconds for which a tap lights it up."""


class Pad(QAbstractButton):
    """Says `struck` as soon as it is pressed, with the time stamp of the event."""

    struck = Signal(int)
    ended = Signal()
    """Escape was pressed while a pass runs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lit = self._armed = False
        self._keys = ""
        self._timer = QTimer(self, singleShot=True, interval=LIT)
        self._timer.timeout.connect(self._go_out)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Tapping pad")
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def sizeHint(self) -> QSize:
        """Wide enough to be hit without looking."""
        return QSize(190, 64)

    def minimumSizeHint(self) -> QSize:
        """Still easy to hit."""
        return QSize(130, 52)

    def say(self, text: str, keys: str, *, armed: bool) -> None:
        """Show what striking it does, and the key that does the same; while a pass runs Escape is its key too."""
        self.setText(text)
        self._keys, self._armed = keys, armed
        self.setAccessibleDescription(keys)
        self.update()

    def light_up(self) -> None:
        """Show that a tap has come."""
        self._lit = True
        self._timer.start()
        self.update()

    def rest(self) -> None:
        """Leave no timer behind."""
        self._timer.stop()
        self._lit = False

    def _go_out(self) -> None:
        self._lit = False
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        """Paint it in the colour of taps."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        fill, text = (colours.text if self._lit else colours.tapped), colours.lane
        painter.setPen(QPen(colours.text if self.hasFocus() else colours.tapped, 2))
        painter.setBrush(fill)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 10, 10)
        font = QFont(self.font())
        font.setPixelSize(20)
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(text)
        middle = self.rect().center().y()
        upper, lower = self.rect(), self.rect()
        upper.setBottom(middle + 8)
        upper.setTop(4)
        lower.setTop(middle + 7)
        lower.setBottom(self.height() - 5)
        painter.drawText(upper, Qt.AlignmentFlag.AlignCenter, self.text())
        font.setPixelSize(12)
        font.setBold(False)
        painter.setFont(font)
        painter.drawText(lower, Qt.AlignmentFlag.AlignCenter, self._keys)
        painter.end()

    def event(self, event: QEvent) -> bool:
        """Keep its key from being taken for a command of the window."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            mine = event.key() == Qt.Key.Key_Space or (self._armed and event.key() == Qt.Key.Key_Escape)
            event.setAccepted(mine)
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A strike counts when it lands."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.struck.emit(event.timestamp())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Two quick strikes are two strikes."""
        self.mousePressEvent(event)

    def mouseReleaseEvent(self, _: QMouseEvent) -> None:
        """Letting go means nothing."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Strike it with its key."""
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat():
                self.struck.emit(event.timestamp())
        elif event.key() == Qt.Key.Key_Escape and self._armed:
            self.ended.emit()
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Letting go means nothing."""
        if event.key() != Qt.Key.Key_Space:
            super().keyReleaseEvent(event)
