"""What was done, in words; a click goes back to any point of it, or forward again."""

from __future__ import annotations

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QListView, QWidget

from app.colours import colours_for
from app.panels.roomy import Index, Roomy
from app.state import State

NOWHERE = QModelIndex()
BEGINNING = "As first suggested"


class Steps(QAbstractListModel):
    """The steps, the beginning among them; those undone are said to be so."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.words: tuple[str, ...] = ()
        self.at = 0
        self.begun = False
        self.palette = QPalette()

    def begin(self, *, begun: bool) -> None:
        """Say whether there is a beginning: until bars have been suggested there is none."""
        if begun != self.begun:
            self.beginResetModel()
            self.begun = begun
            self.endResetModel()

    def show(self, words: tuple[str, ...], at: int) -> None:
        """Take other steps; the rows that stay are kept, so that the view does not jump."""
        same = 0
        while same < min(len(words), len(self.words)) and words[same] == self.words[same]:
            same += 1
        if same < len(self.words):
            self.beginRemoveRows(QModelIndex(), same, len(self.words) - 1)
            self.words = self.words[:same]
            self.endRemoveRows()
        if same < len(words):
            self.beginInsertRows(QModelIndex(), same, len(words) - 1)
            self.words = words
            self.endInsertRows()
        self.at = at
        if words:
            self.dataChanged.emit(self.index(0), self.index(len(words) - 1))

    def rowCount(self, parent: Index = NOWHERE) -> int:
        """Count the steps and the beginning."""
        return len(self.words) + 1 if self.begun and not parent.isValid() else 0

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Words of a step, and their look."""
        row = index.row()
        words = self.words[row - 1] if row else BEGINNING
        if role == Qt.ItemDataRole.DisplayRole:
            return words
        if role == Qt.ItemDataRole.ForegroundRole and row > self.at:
            return colours_for(self.palette).faint
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{words} (undone; click to do again)" if row > self.at else f"{words}: click to return here"
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{words}, undone" if row > self.at else words
        return None


class Done(QListView):
    """The list of steps; the one in force is marked."""

    wanted = Signal(int)
    """How many steps shall be in force."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.steps = Steps(self)
        self.setModel(self.steps)
        self.setUniformItemSizes(True)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setItemDelegate(Roomy(self))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("What was done")
        self.clicked.connect(self._go)
        self.activated.connect(self._go)

    def show_state(self, state: State) -> None:
        """Show the steps of a state."""
        self.steps.palette = self.palette()
        self.steps.begin(begun=state.document is not None)
        self.steps.show(state.history, state.at)
        here = self.steps.index(state.at)
        self.setCurrentIndex(here)
        self.scrollTo(here)

    def _go(self, index: QModelIndex) -> None:
        self.wanted.emit(index.row())
