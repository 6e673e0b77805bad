"""Lies over the main lane while notes are put right: they are chosen, dragged and struck anew there."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QContextMenuEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.colours import Colours, colours_for
from app.notes.places import NotePlaces
from app.notes.words import pitch_name
from app.span import Span
from app.timeline.notes_picture import NotesPicture
from app.timeline.picking import HEAD, ONSETS
from app.timeline.wheel import wheel
from core.repairs import Repair
from core.take import MidiTake

SLACK = 3
"""Pixels the pointer may wander in a click."""

_CTRL = Qt.KeyboardModifier.ControlModifier
_KEYS = {
    Qt.Key.Key_Delete,
    Qt.Key.Key_Backspace,
    Qt.Key.Key_Left,
    Qt.Key.Key_Right,
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_Escape,
}


class NoteLayer(QWidget):
    """Shows which notes are chosen and what was put right; tells what the hand wants done.

    Parameters
    ----------
    lane : QWidget
        The main lane.
    span : Span
        What that shows.
    """

    move_wanted = Signal(float)
    """The chosen notes are to go so many seconds later."""
    remove_wanted = Signal()
    louder_wanted = Signal(int)
    """The chosen notes are to be struck harder by so much."""
    menu_wanted = Signal(object)
    """A menu for the chosen notes, at a place of the screen (QPoint)."""
    left = Signal()
    """The musician is done with notes."""

    def __init__(self, lane: QWidget, span: Span) -> None:
        super().__init__(lane)
        self._lane, self._span = lane, span
        self._places: NotePlaces | None = None
        self._picture: NotesPicture | None = None
        self.chosen: frozenset[int] = frozenset()
        self._press: QPointF | None = None
        self._drag: float | None = None
        self._band: QRectF | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Notes to be put right")
        lane.installEventFilter(self)
        span.changed.connect(self.update)
        self.setGeometry(lane.rect())
        self.hide()

    @property
    def places(self) -> NotePlaces | None:
        """Where the notes are."""
        return self._places

    def show_notes(self, take: MidiTake, repairs: tuple[Repair, ...], picture: NotesPicture) -> None:
        """Show the notes of a take."""
        if self._picture is not picture:
            self.chosen = frozenset()
            self._let_go()
        self._places, self._picture = NotePlaces(take, repairs), picture
        self._say()
        self.update()

    def choose(self, notes: frozenset[int]) -> None:
        """Choose notes, and only these."""
        self.chosen = notes
        self._say()
        self.update()

    def rect_of(self, note: int) -> QRectF:
        """Where a note lies in the lane."""
        assert self._places is not None
        return self._places.rect(note, self._area(), self._rows(), self._span)

    def _area(self) -> QRectF:
        return QRectF(self.rect()).adjusted(0, HEAD, 0, -ONSETS)

    def _rows(self) -> tuple[float, int]:
        assert self._picture is not None
        return self._picture.rows(self._area())

    def _note_at(self, position: QPointF) -> int | None:
        if self._places is None:
            return None
        return self._places.at(position.x(), position.y(), self._area(), self._rows(), self._span)

    def _say(self) -> None:
        words = (
            f"{len(self.chosen)} notes chosen" if len(self.chosen) != 1 else self._named(next(iter(self.chosen)))
        )
        self.setAccessibleDescription(words if self.chosen else "No note is chosen")

    def _named(self, note: int) -> str:
        assert self._places is not None
        places = self._places
        what = " (removed)" if places.removed[note] else ""
        return f"{pitch_name(int(places.pitch[note]))}, velocity {int(places.velocity[note])}{what}"

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what was put right, what is chosen, and what is in the hand."""
        places = self._places
        if places is None or self._picture is None:
            return
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        area, rows = self._area(), self._rows()
        painter.setPen(QPen(colours.playhead, 1))
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        for note in places.changed.keys() | self.chosen:
            held = self._drag or 0.0 if note in self.chosen else 0.0
            box = places.rect(note, area, rows, self._span, held).adjusted(-1, -1, 1, 1)
            if box.right() >= 0 and box.left() <= self.width():
                self._paint(painter, box, note, places, colours)
        if self._band is not None:
            painter.fillRect(self._band, colours.selection)
        painter.end()

    def _paint(self, painter: QPainter, box: QRectF, note: int, places: NotePlaces, colours: Colours) -> None:
        chosen, removed = note in self.chosen, bool(places.removed[note])
        painter.setPen(QPen(colours.placed if chosen else colours.text, 1))
        fill = QColor(colours.placed if chosen else colours.lane)
        fill.setAlpha(110 if chosen else 60)
        painter.setBrush(QBrush(fill) if not removed else Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        if removed:
            painter.drawLine(box.topLeft(), box.bottomRight())
            painter.drawLine(box.bottomLeft(), box.topRight())

    # Pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the note under the pointer, or begin a box."""
        if event.button() != Qt.MouseButton.LeftButton or self._places is None:
            return
        self._press = event.position()
        note = self._note_at(self._press)
        more = bool(event.modifiers() & _CTRL)
        if note is None:
            if not more:
                self.choose(frozenset())
            self._band = QRectF(self._press, self._press)
        elif more:
            self.choose(self.chosen ^ {note})
        elif note not in self.chosen:
            self.choose(frozenset({note}))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Take the chosen notes along, or make the box larger."""
        if self._press is None:
            there = self._note_at(event.position()) is not None
            self.setCursor(Qt.CursorShape.SizeHorCursor if there else Qt.CursorShape.CrossCursor)
            return
        if self._band is not None:
            self._band = QRectF(self._press, event.position()).normalized()
        elif self.chosen and (self._drag is not None or abs(event.position().x() - self._press.x()) >= SLACK):
            self._drag = (event.position().x() - self._press.x()) * self._span.seconds_per_pixel
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do what was begun."""
        band, drag = self._band, self._drag
        self._let_go()
        if band is not None and self._places is not None and band.width() + band.height() > SLACK:
            inside = self._places.inside(band, self._area(), self._rows(), self._span)
            self.choose(self.chosen | frozenset(inside.tolist()))
        elif drag:
            self.move_wanted.emit(drag)

    def _let_go(self) -> None:
        self._press = self._drag = self._band = None
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom or scroll."""
        wheel(event, self._span)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for a menu for what is under the pointer, or chosen."""
        self._let_go()
        note = self._note_at(QPointF(event.pos()))
        by_mouse = event.reason() == QContextMenuEvent.Reason.Mouse
        if by_mouse and note is not None and note not in self.chosen:
            self.choose(frozenset({note}))
        self.menu_wanted.emit(event.globalPos())

    # Keys

    def event(self, event: QEvent) -> bool:
        """Keep the keys of notes from being taken for commands on bar lines; show what is under the pointer."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and event.key() in _KEYS:
            event.accept()
            return True
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            note = self._note_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), "" if note is None else self._named(note), self)
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Del removes, Left and Right move by five milliseconds, Up and Down change the velocity by four."""
        fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        match event.key():
            case Qt.Key.Key_Delete | Qt.Key.Key_Backspace:
                self.remove_wanted.emit()
            case Qt.Key.Key_Left | Qt.Key.Key_Right as key:
                self.move_wanted.emit((0.001 if fine else 0.005) * (1 if key == Qt.Key.Key_Right else -1))
            case Qt.Key.Key_Up | Qt.Key.Key_Down as key:
                self.louder_wanted.emit((1 if fine else 4) * (1 if key == Qt.Key.Key_Up else -1))
            case Qt.Key.Key_Escape if self._press is not None:
                self._let_go()
            case Qt.Key.Key_Escape if self.chosen:
                self.choose(frozenset())
            case Qt.Key.Key_Escape:
                self.left.emit()
            case _:
                super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the lane."""
        if watched is self._lane and event.type() == QEvent.Type.Resize:
            self.setGeometry(self._lane.rect())
        return super().eventFilter(watched, event)
