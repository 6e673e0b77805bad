"""The passages of a take in the order in which they are heard; they can be moved."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QSignalBlocker, Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.roomy import Roomy
from app.sayings import clock
from core.passages import Passage


class PassageList(QWidget):
    """Lists them; one is dragged to another place, or goes there by the buttons."""

    move_wanted = Signal(int, int)
    """Place of a passage, and the one it is to get."""
    went_to = Signal(float)
    """A passage was chosen; seconds of recording time."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._passages: tuple[Passage, ...] = ()
        self._moved: tuple[int, int] | None = None
        self.list = QListWidget()
        self.list.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.list.setDefaultDropAction(Qt.DropAction.MoveAction)
        self.list.setItemDelegate(Roomy(self.list))
        self.list.setFrameShape(QListWidget.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAccessibleName("Passages in the order in which they are heard")
        self.earlier, self.later = QPushButton("Earlier"), QPushButton("Later")
        self.words = QLabel()
        self.words.setWordWrap(True)
        row = QHBoxLayout()
        row.addWidget(self.earlier)
        row.addWidget(self.later)
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 2, 6, 6)
        column.setSpacing(4)
        column.addWidget(self.list, 1)
        column.addWidget(self.words)
        column.addLayout(row)
        # A drop is told of in the middle of it: the list must not be filled anew before it is over.
        self._after = QTimer(self, singleShot=True, interval=0)
        self._after.timeout.connect(self._tell)
        self.list.model().rowsMoved.connect(self._dropped)
        self.list.currentRowChanged.connect(self._judge)
        self.list.itemClicked.connect(self._go)
        self.list.itemActivated.connect(self._go)
        self.earlier.clicked.connect(self._go_earlier)
        self.later.clicked.connect(self._go_later)

    def show_passages(self, passages: tuple[Passage, ...], total: float, whole: float) -> None:
        """Show other passages, and how long all that is heard and all that was played are."""
        row = self.list.currentRow()
        held = self._passages[row] if 0 <= row < len(self._passages) else None
        self._passages = passages
        blocked = QSignalBlocker(self.list)
        self.list.clear()
        for i, one in enumerate(passages, 1):
            self.list.addItem(f"{i}.  {clock(one.start)} to {clock(one.end)}  ({one.duration:.0f} s)")
        if held in passages:
            self.list.setCurrentRow(passages.index(held))
        elif passages:
            self.list.setCurrentRow(min(max(row, 0), len(passages) - 1))
        del blocked
        self.words.setText(f"{clock(total)} are heard of {clock(whole)} played." if passages else "")
        self._judge(self.list.currentRow())

    def stop(self) -> None:
        """Tell nothing any more."""
        self._after.stop()

    @Slot(int)
    def _judge(self, row: int) -> None:
        self.earlier.setEnabled(row > 0)
        self.later.setEnabled(0 <= row < len(self._passages) - 1)

    @Slot(QModelIndex, int, int, QModelIndex, int)
    def _dropped(self, _parent: QModelIndex, first: int, _last: int, _to: QModelIndex, before: int) -> None:
        self._moved = (first, before - 1 if before > first else before)
        self._after.start()

    @Slot()
    def _tell(self) -> None:
        moved, self._moved = self._moved, None
        if moved is not None:
            self.move_wanted.emit(*moved)

    @Slot()
    def _go_earlier(self) -> None:
        row = self.list.currentRow()
        self.move_wanted.emit(row, row - 1)

    @Slot()
    def _go_later(self) -> None:
        row = self.list.currentRow()
        self.move_wanted.emit(row, row + 1)

    @Slot(QListWidgetItem)
    def _go(self, item: QListWidgetItem) -> None:
        self.went_to.emit(self._passages[self.list.row(item)].start)
