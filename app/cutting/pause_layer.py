"""Lies over the main lane and shows its pauses; the end of one is dragged to make it shorter."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QHelpEvent, QHideEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.colours import colours_for
from app.cutting.pause_marks import PauseMark, grip_at, marks_of, paint_marks, paint_words
from app.span import Span
from app.timeline.drag import SNAP
from core.arrangement import Arrangement
from core.hesitations import Hesitation

_LEFT, _ALT = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.AltModifier


class PauseLayer(QWidget):
    """Lets the mouse through, but for what is done to the grips of pauses.

    A grip snaps to the length the pause's neighbours suggest, with Alt it does not; Escape lets it go.

    Parameters
    ----------
    lane : QWidget
        The main lane.
    span : Span
        What that shows.
    """

    moved = Signal(object, float)
    """A pause would last so many seconds."""
    dropped = Signal()
    """The pause in the hand is let go, and lasts as long as before."""
    wanted = Signal(object, float)
    """A pause is to last so many seconds."""

    def __init__(self, lane: QWidget, span: Span) -> None:
        super().__init__(lane)
        self._lane, self._span = lane, span
        self.marks: tuple[PauseMark, ...] = ()
        self._over: PauseMark | None = None
        self._held: tuple[PauseMark, float] | None = None  # as it was taken, and seconds from the hand to its end
        self._now: PauseMark | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("Pauses")
        lane.installEventFilter(self)
        span.changed.connect(self.update)
        self.setGeometry(lane.rect())
        self.hide()

    @property
    def busy(self) -> bool:
        """Whether a pause is in the hand."""
        return self._held is not None

    def show_pauses(self, pauses: tuple[Hesitation, ...], arrangement: Arrangement) -> None:
        """Show other pauses, or what is taken out of them now."""
        marks = marks_of(pauses, arrangement)
        if marks == self.marks:
            return
        self._let_go()
        self.marks, self._over = marks, None
        self.setAccessibleDescription("; ".join(f"at {mark.pause.start:.1f} s: {mark.words}" for mark in marks))
        self.setVisible(bool(marks))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the marks."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        now = self._now
        marks = tuple(now if now is not None and now.pause == mark.pause else mark for mark in self.marks)
        paint_marks(painter, self.rect(), marks, now or self._over, self._span, colours)
        if now is not None:
            paint_words(painter, self.rect(), now, self._span, colours)
        painter.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the lane, and take what is done to grips."""
        if watched is not self._lane:
            return super().eventFilter(watched, event)
        if event.type() == QEvent.Type.Resize:
            self.setGeometry(self._lane.rect())
        elif event.type() == QEvent.Type.Leave:
            self._hover(None)
        elif isinstance(event, QMouseEvent):
            return self._mouse(event)
        elif isinstance(event, QHelpEvent):
            return self._tip(event)
        elif self._held is not None:
            return self._kept_back(event)
        return False

    def _kept_back(self, event: QEvent) -> bool:
        """Let go at Escape, before the window takes it for a command; no menu opens meanwhile."""
        if isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape:
            if event.type() == QEvent.Type.KeyPress:
                self._let_go()
            event.accept()
            return True
        return event.type() == QEvent.Type.ContextMenu

    def _tip(self, event: QHelpEvent) -> bool:
        mark = grip_at(event.pos().x(), event.pos().y(), self.marks, self._span)
        if mark is None or event.type() != QEvent.Type.ToolTip:
            return False
        QToolTip.showText(event.globalPos(), _hint(mark), self._lane)
        return True

    def _mouse(self, event: QMouseEvent) -> bool:
        x, mark = event.position().x(), self._grip(event)
        match event.type():
            case QEvent.Type.MouseButtonPress | QEvent.Type.MouseButtonDblClick if self._held is None:
                if mark is None or event.button() != _LEFT:
                    return False
                self._held = (mark, mark.end - self._span.time_at(x))
                self._lane.setFocus(Qt.FocusReason.MouseFocusReason)
                return True
            case QEvent.Type.MouseMove if self._held is not None:
                self._carry(x, snapping=not event.modifiers() & _ALT)
                return True
            case QEvent.Type.MouseMove if not event.buttons():
                self._hover(mark)
                return mark is not None
            case QEvent.Type.MouseButtonRelease if self._held is not None and event.button() == _LEFT:
                self._set_down()
                return True
        return self._held is not None

    def _grip(self, event: QMouseEvent) -> PauseMark | None:
        return grip_at(event.position().x(), event.position().y(), self.marks, self._span)

    def _hover(self, mark: PauseMark | None) -> None:
        if mark is not None:
            if self._over is None:
                # What is under the grip is not what a click would take.
                QApplication.sendEvent(self._lane, QEvent(QEvent.Type.Leave))
            self._lane.setCursor(Qt.CursorShape.SplitHCursor)
        if mark != self._over:
            self._over = mark
            self.update()

    def _carry(self, x: float, *, snapping: bool) -> None:
        assert self._held is not None
        mark, away = self._held
        within = SNAP * self._span.seconds_per_pixel if snapping else 0.0
        now = mark.to(self._span.time_at(x) + away, within)
        if now != self._now:
            self._now = now
            self.moved.emit(now.pause, now.lasts)
            self.update()

    def _set_down(self) -> None:
        held, now = self._held, self._now
        self._let_go()
        if held is not None and now is not None and not now.same(held[0].lasts):
            self.wanted.emit(now.pause, now.lasts)

    def _let_go(self) -> None:
        if self._held is None:
            return
        self._held = self._now = None
        self._lane.unsetCursor()
        self.update()
        self.dropped.emit()

    def hideEvent(self, event: QHideEvent) -> None:
        """Drop what is in the hand."""
        self._let_go()
        super().hideEvent(event)


def _hint(mark: PauseMark) -> str:
    suggested = f"the music around it suggests {mark.pause.suggested:.1f} s"
    return f"Pause in bar {mark.pause.bar}: {mark.words}; {suggested}\nDrag to make it shorter or longer"
