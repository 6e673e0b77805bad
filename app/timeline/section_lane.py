"""The lane of named sections, each a block from bar line to bar line."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QFont,
    QHelpEvent,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.colours import Colours, colours_for
from app.sections.looks import paint_look
from app.sections.rows import merged
from app.span import Span
from app.state import State
from app.timeline.lines import Lines, lines_of
from app.timeline.picking import SectionBlock, SectionEdge
from app.timeline.section_blocks import Block, bar_for_edge, blocks, pick_section
from app.timeline.wheel import wheel
from app.workspace import Workspace
from core import gestures
from core.document import Section

HEIGHT = 24
"""Pixels."""

_KEYS = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_F2)


class SectionLane(QWidget):
    """Shows sections; a click goes to one, a double click renames it, its edge can be dragged to another bar line.

    Left and Right go from section to section, F2 renames. What is only suggested has a broken outline; a double
    click takes it over.
    """

    went_to = Signal(int)
    """A section was chosen: the bar it begins with."""

    rename_wanted = Signal(int)
    """A section is to get another name: the bar it begins with."""

    take_over_wanted = Signal(int)
    """A suggestion is to be a section: the bar it begins with."""

    menu_wanted = Signal(object, object)
    """A context menu is asked for: `SectionBlock`, `SectionEdge` or `Empty`, and the place on the screen."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._hint = ""
        self._suggested: tuple[Section, ...] = ()
        self._at: int | None = None  # the section that keys act on
        self._drag: tuple[int, float, int] | None = None  # bar of the section, pixel of the press, bar it is at
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Sections")
        workspace.changed.connect(self._on_changed)
        span.changed.connect(self.update)

    @property
    def hint(self) -> str:
        """What the lane says while there is no section."""
        return self._hint

    @hint.setter
    def hint(self, words: str) -> None:
        self._hint = words
        self.update()

    def sizeHint(self) -> QSize:
        """As high as it always is."""
        return QSize(400, HEIGHT)

    @property
    def _lines(self) -> Lines | None:
        grid = self._workspace.state.grid
        return None if grid is None else lines_of(grid)

    @property
    def _blocks(self) -> tuple[Block, ...]:
        document, lines = self._workspace.state.document, self._lines
        return () if document is None or lines is None else blocks(document.sections, lines)

    @property
    def _suggestions(self) -> tuple[Block, ...]:
        document, lines = self._workspace.state.document, self._lines
        if document is None or lines is None or not self._suggested:
            return ()
        suggested = {section.bar for section in self._suggested}
        return tuple(
            block for block in blocks(merged(document.sections, self._suggested), lines) if block.bar in suggested
        )

    def show_suggested(self, sections: tuple[Section, ...]) -> None:
        """Show other suggestions."""
        self._suggested = sections
        self.update()

    def _on_changed(self, old: State, new: State) -> None:
        if old.document is not new.document:
            self._drag = None
            among = self._blocks
            if self._at not in [block.bar for block in among]:
                self._at = among[0].bar if among else None
            self.setAccessibleDescription(", ".join(f"{block.name} from bar {block.bar}" for block in among))
        self.update()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the blocks on screen."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.fillRect(event.rect(), colours.ground)
        font = QFont(self.font())
        font.setPixelSize(12)
        painter.setFont(font)
        among = self._blocks
        suggestions = self._suggestions
        for block in among:
            within = [other.start for other in suggestions if block.start < other.start < block.end]
            self._paint_block(painter, block, min(within, default=block.end), colours)
        for block in suggestions:
            self._paint_suggestion(painter, block, colours)
        if not among and not suggestions and self._workspace.state.grid is not None:
            painter.setPen(colours.faint)
            box = self.rect().adjusted(8, 0, -8, 0)
            words = painter.fontMetrics().elidedText(self._hint, Qt.TextElideMode.ElideRight, box.width())
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, words)
        if self._drag is not None and self._lines is not None:
            line = self._lines.line((self._drag[2], 1))
            if line is not None:
                painter.fillRect(round(self._span.x_of(line.time)) - 1, 0, 3, self.height(), colours.snap)
        painter.end()

    def _box(self, block: Block) -> QRect:
        left, right = round(self._span.x_of(block.start)), round(self._span.x_of(block.end))
        return QRect(left, 2, right - left, self.height() - 4)

    def _paint_block(self, painter: QPainter, block: Block, until: float, colours: Colours) -> None:
        """Paint a section, its name before a moment."""
        box = self._box(block)
        if not box.intersects(self.rect()):
            return
        paint_look(painter, box, block.look, colours)
        painter.fillRect(box.left(), 2, 3, box.height(), colours.faint)
        box.setRight(round(self._span.x_of(until)))
        self._paint_name(painter, box, block.name, colours.text)
        if self.hasFocus() and block.bar == self._at:
            painter.setPen(QPen(colours.text, 2))
            painter.drawRect(box.intersected(self.rect()).adjusted(1, 1, -1, -1))

    def _paint_suggestion(self, painter: QPainter, block: Block, colours: Colours) -> None:
        box = self._box(block)
        if not box.intersects(self.rect()):
            return
        painter.setPen(QPen(colours.faint, 1, Qt.PenStyle.DashLine))
        painter.drawRect(box.adjusted(1, 0, -1, -1))
        self._paint_name(painter, box, f"{block.name}?", colours.faint)

    def _paint_name(self, painter: QPainter, box: QRect, name: str, colour: QColor) -> None:
        """Write a name where it stays in view while any of its section does."""
        room = box.intersected(self.rect()).adjusted(9, 0, -4, 0)
        if room.width() > 14:
            painter.setPen(colour)
            words = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, words)

    # Pointer

    def _words_at(self, x: float) -> str:
        """What is at a pixel from the left, and what can be done with it."""
        time = self._span.time_at(x)
        for block in self._suggestions:
            if block.start <= time < block.end:
                return f"{block.name} is suggested from bar {block.bar}: double click to take it over."
        for block in self._blocks:
            if block.start <= time < block.end:
                return f"{block.name}, from bar {block.bar}: double click to rename it, drag its edge to move it."
        return ""

    def _suggested_at(self, x: float) -> int | None:
        """The bar of the suggestion at a pixel from the left."""
        time = self._span.time_at(x)
        return next((block.bar for block in self._suggestions if block.start <= time < block.end), None)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of an edge, or choose a section."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        target = pick_section(event.position().x(), self._blocks, self._span)
        if isinstance(target, SectionBlock | SectionEdge):
            self._at = target.bar
            self.update()
        if isinstance(target, SectionEdge):
            self._drag = (target.bar, event.position().x(), target.bar)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the edge from bar line to bar line."""
        x, lines = event.position().x(), self._lines
        if self._drag is None or lines is None:
            edge = isinstance(pick_section(x, self._blocks, self._span), SectionEdge)
            self.setCursor(Qt.CursorShape.SizeHorCursor if edge else Qt.CursorShape.ArrowCursor)
            return
        bar, press, _ = self._drag
        line = lines.line((bar, 1))
        if line is not None:
            time = line.time + (x - press) * self._span.seconds_per_pixel
            self._drag = (bar, press, bar_for_edge(time, bar, self._blocks, lines))
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Set the edge down, or go to the section."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        drag, self._drag = self._drag, None
        self.update()
        if drag is not None and drag[0] != drag[2]:
            self._at = drag[2]
            self._workspace.attempt(partial(gestures.move_section, bar=drag[0], to=drag[2]))
            return
        target = pick_section(event.position().x(), self._blocks, self._span)
        suggested = self._suggested_at(event.position().x())
        if suggested is not None:
            self.went_to.emit(suggested)
        elif isinstance(target, SectionBlock | SectionEdge):
            self.went_to.emit(target.bar)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Rename a section, or take a suggestion over."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        suggested = self._suggested_at(event.position().x())
        target = pick_section(event.position().x(), self._blocks, self._span)
        if suggested is not None:
            self.take_over_wanted.emit(suggested)
        elif isinstance(target, SectionBlock | SectionEdge):
            self.rename_wanted.emit(target.bar)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for a menu."""
        if self._workspace.state.grid is not None:
            suggested = self._suggested_at(event.pos().x())
            if suggested is not None:
                self.went_to.emit(suggested)  # the commands mean what is selected
            target = pick_section(event.pos().x(), self._blocks, self._span)
            self.menu_wanted.emit(target, event.globalPos())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom or scroll."""
        wheel(event, self._span)

    # Keys

    def event(self, event: QEvent) -> bool:
        """Say what is under the pointer, and keep the lane's own keys from being taken for commands."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self._words_at(event.pos().x()), self)
            return True
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            let_go = event.key() == Qt.Key.Key_Escape and self._drag is not None
            if let_go or (event.key() in _KEYS and self._at is not None and not event.modifiers()):
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from section to section, rename one, or let go of an edge."""
        bars = [block.bar for block in self._blocks]
        if event.key() == Qt.Key.Key_Escape and self._drag is not None:
            self._drag = None
            self.update()
        elif self._at in bars and event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if event.key() == Qt.Key.Key_Right else -1
            self._at = bars[min(max(bars.index(self._at) + step, 0), len(bars) - 1)]
            self.went_to.emit(self._at)
            self.update()
        elif self._at in bars and event.key() == Qt.Key.Key_F2:
            self.rename_wanted.emit(self._at)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Mark the section that keys act on."""
        self.update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Its mark goes."""
        self.update()
        super().focusOutEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Drop what is in the hand."""
        self._drag = None
        super().hideEvent(event)
