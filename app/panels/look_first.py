"""The least sure bar lines, the least sure first; each leads there."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QPainter, QPalette
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.colours import colours_for
from app.sayings import sureness
from app.state import Place, State
from app.timeline.words import moment
from core.grid import Beat

Index = QModelIndex | QPersistentModelIndex
LINE = Qt.ItemDataRole.UserRole
NOWHERE = QModelIndex()


def least_sure(state: State, length: int) -> tuple[Beat, ...]:
    """Suggested bar lines in order of their confidence, the least first."""
    lines = () if state.grid is None else state.grid.bar_lines
    return tuple(sorted((each for each in lines if not each.placed), key=_confidence)[:length])


def _confidence(line: Beat) -> tuple[float, float]:
    return line.confidence, line.time


class LeastSure(QAbstractListModel):
    """The lines, as Qt's lists want them."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.lines: tuple[Beat, ...] = ()

    def show(self, lines: tuple[Beat, ...]) -> None:
        """Take other lines."""
        if lines != self.lines:
            self.beginResetModel()
            self.lines = lines
            self.endResetModel()

    def rowCount(self, parent: Index = NOWHERE) -> int:
        """Count the lines."""
        return 0 if parent.isValid() else len(self.lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Words of a line, for screen readers and tool tips; the line itself for painting."""
        line = self.lines[index.row()]
        if role == LINE:
            return line
        words = f"Bar {line.bar} at {moment(line.time)}: {sureness(line)}, {round(100 * line.confidence)} of 100"
        told = (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole)
        return words if role in told else None


class LineRow(QStyledItemDelegate):
    """Paints one line: number, time, how sure in words and as a small bar."""

    def sizeHint(self, option: QStyleOptionViewItem, _: Index) -> QSize:
        """One line of text with room around it."""
        return QSize(200, option.fontMetrics.height() + 10)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a row."""
        line = index.data(LINE)
        rect: QRect = option.rect
        palette: QPalette = option.palette
        metrics = option.fontMetrics
        state = option.state
        colours = colours_for(palette)
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        text = palette.color(QPalette.ColorRole.HighlightedText) if chosen else colours.text
        faint = text if chosen else colours.faint
        painter.save()
        if chosen:
            painter.fillRect(rect, palette.highlight())
        elif state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(rect, palette.alternateBase())
        inner = rect.adjusted(10, 0, -10, 0)
        middle = Qt.AlignmentFlag.AlignVCenter
        track, gap = 52, 8
        number = metrics.horizontalAdvance("0000") + gap
        clock = metrics.horizontalAdvance("00:00.000") + gap
        painter.setPen(text)
        bold = painter.font()
        bold.setBold(True)
        plain = painter.font()
        painter.setFont(bold)
        painter.drawText(inner, middle | Qt.AlignmentFlag.AlignLeft, str(line.bar))
        painter.setFont(plain)
        painter.setPen(faint)
        painter.drawText(inner.adjusted(number, 0, 0, 0), middle | Qt.AlignmentFlag.AlignLeft, moment(line.time))
        words = inner.adjusted(number + clock, 0, -track - gap, 0)
        painter.setPen(text)
        said = metrics.elidedText(sureness(line), Qt.TextElideMode.ElideRight, words.width())
        painter.drawText(words, middle | Qt.AlignmentFlag.AlignLeft, said)
        self._paint_bar(painter, inner, track, line, faint, colours.doubtful if line.doubtful else faint, chosen)
        painter.restore()
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(text)
            painter.drawRect(rect.adjusted(1, 1, -2, -2))

    @staticmethod
    def _paint_bar(
        painter: QPainter, inner: QRect, width: int, line: Beat, edge: QColor, fill: QColor, chosen: bool
    ) -> None:
        track = QRect(inner.right() - width, inner.center().y() - 3, width, 7)
        painter.setPen(edge)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(track)
        length = round((width - 3) * line.confidence)
        painter.fillRect(track.left() + 2, track.top() + 2, max(length, 1), 4, edge if chosen else fill)


class LookFirst(QListView):
    """The list; a click or Return goes to a line."""

    wanted = Signal(object)
    """The place of a line to go to."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines = LeastSure(self)
        self.setModel(self.lines)
        self.setItemDelegate(LineRow(self))
        self.setUniformItemSizes(True)
        self.setMouseTracking(True)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Look first: the least sure bar lines")
        self.clicked.connect(self._go)
        self.activated.connect(self._go)

    def show_state(self, state: State, length: int) -> None:
        """Show the least sure lines of a state."""
        self.lines.show(least_sure(state, length))

    def show_selection(self, places: frozenset[Place]) -> None:
        """Mark the line that is selected, if it is in the list."""
        row = next((i for i, line in enumerate(self.lines.lines) if (line.bar, 1) in places), -1)
        self.setCurrentIndex(self.lines.index(row) if row >= 0 else QModelIndex())

    def _go(self, index: QModelIndex) -> None:
        line = index.data(LINE)
        self.wanted.emit((line.bar, line.beat))
