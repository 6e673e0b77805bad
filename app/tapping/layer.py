"""What tapping shows over the main lane: taps as they come, then the lines they would place with their flags."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRect, Qt, Signal
from PySide6.QtGui import QHelpEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QToolTip, QWidget

from app.colours import colours_for
from app.span import Span
from app.tapping.preview import MARK, TOP, Flag, Preview, paint_taps
from core.tapped import TappedLine


class TapLayer(QWidget):
    """Lies over the lane and lets the mouse through, but for clicks on flags.

    Parameters
    ----------
    lane : QWidget
        The main lane.
    span : Span
        What it shows.
    """

    flag_clicked = Signal(object, bool)
    """Place of the line whose flag was clicked, and whether Shift was held."""

    def __init__(self, lane: QWidget, span: Span) -> None:
        super().__init__(lane)
        self._lane, self._span = lane, span
        self._preview = Preview()
        self._taps: tuple[float, ...] = ()
        self._flag_held = False
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("Taps")
        lane.installEventFilter(self)
        span.changed.connect(self.update)
        self.setGeometry(lane.rect())
        self.hide()

    @property
    def preview(self) -> Preview:
        """The lines that are shown."""
        return self._preview

    def show_preview(self, preview: Preview) -> None:
        """Show other lines."""
        self._preview = preview
        self._show()

    def show_taps(self, taps: tuple[float, ...]) -> None:
        """Show other taps; one that is added costs no more than its own few pixels."""
        added = taps[len(self._taps) :] if taps[: len(self._taps)] == self._taps else None
        self._taps = taps
        if added is None or not self.isVisible():
            self._show()
            return
        for time in added:
            x = round(self._span.x_of(time))
            self.update(QRect(x - MARK - 2, TOP - 2, 2 * MARK + 4, self.height()))

    def _show(self) -> None:
        shown = bool(self._taps or self._preview.lines)
        self.setVisible(shown)
        if shown:
            self.raise_()
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint taps and lines."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        self._preview.paint(painter, self.rect(), self._span, colours)
        paint_taps(painter, self.rect(), self._taps, self._span, colours)
        painter.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the lane, and take what is done to flags."""
        if watched is self._lane:
            if event.type() == QEvent.Type.Resize:
                self.setGeometry(self._lane.rect())
            elif self._preview.lines and isinstance(event, QMouseEvent):
                return self._mouse(event)
            elif isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
                flag = self._flag(event.pos().x(), event.pos().y())
                if flag is not None:
                    QToolTip.showText(event.globalPos(), self._words(flag.line), self._lane)
                    return True
        return super().eventFilter(watched, event)

    def _flag(self, x: float, y: float) -> Flag | None:
        return self._preview.flag_at(x, y, self._span, self.font())

    def _mouse(self, event: QMouseEvent) -> bool:
        flag = self._flag(event.position().x(), event.position().y())
        if event.type() in (QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonDblClick):
            self._flag_held = flag is not None and event.button() == Qt.MouseButton.LeftButton
            if self._flag_held and flag is not None:
                self.flag_clicked.emit(flag.place, bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
            return self._flag_held
        if event.type() == QEvent.Type.MouseButtonRelease and self._flag_held:
            self._flag_held = False
            return True
        if event.type() == QEvent.Type.MouseMove and flag is not None and not event.buttons():
            self._lane.setCursor(Qt.CursorShape.PointingHandCursor)
            return True
        return self._flag_held

    def _words(self, line: TappedLine) -> str:
        kind = "tapped" if line.tapped else "between two taps"
        sure = ", doubtful" if line.doubtful else ""
        out = (line.bar, line.beat) in self._preview.left_out
        click = "Left out: click to place it too" if out else "Click to leave it out"
        return f"Bar {line.bar}, {kind}{sure}\n{click}"
