"""The files that are written, and what to beware of, as short lists."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtGui import QIcon, QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QListWidget, QListWidgetItem, QSizePolicy, QWidget

from app.colours import Colours
from app.handover.parts import FileName, prose
from app.icon import pixmap
from core.planned import PlannedFile, WrittenFile
from core.session import Caution

_FILES = 3
"""Files there usually are; room for more is made when they are asked for."""

_ROWS = 3
"""Cautions to be seen without scrolling."""


def size_words(size: int) -> str:
    """Say the size of a file."""
    return f"{size} bytes" if size < 1000 else f"{size / 1000:.1f} kB" if size < 1e6 else f"{size / 1e6:.1f} MB"


class FileList(QWidget):
    """Name, contents and, once it is there, the size of each file."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: list[tuple[FileName, QLabel, QLabel]] = []
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(2, 3)
        self._grid = grid
        for _ in range(_FILES):
            self._add_row()

    def show_files(self, files: Sequence[PlannedFile], written: Sequence[WrittenFile] = ()) -> None:
        """List what will be written, or what has been, with its size."""
        while len(self.rows) < len(files):
            self._add_row()
        for row, (name, size, holds) in enumerate(self.rows):
            for label in (name, holds, size):
                label.setVisible(row < len(files))
            if row < len(files):
                name.say(files[row].name)
                holds.setText(files[row].holds)
            size.setVisible(row < len(written))
            if row < len(written):
                size.setText(size_words(written[row].size))

    def _add_row(self) -> None:
        name, size, holds = FileName(), QLabel(), prose(role="help")
        name.setMaximumWidth(320)
        size.setAlignment(Qt.AlignmentFlag.AlignRight)
        for column, label in enumerate((name, size, holds)):
            self._grid.addWidget(label, len(self.rows), column, Qt.AlignmentFlag.AlignTop)
        self.rows.append((name, size, holds))


class CautionList(QListWidget):
    """What to beware of; choosing an entry leads to its bar."""

    went_to = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("cautions")
        self.setAccessibleName("What to beware of")
        self._sign = QIcon()
        self.setWordWrap(True)
        self.setIconSize(QSize(16, 16))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.itemClicked.connect(self._go)
        self.itemActivated.connect(self._go)

    def show_cautions(self, cautions: Sequence[Caution]) -> None:
        """List them; nothing is shown where there are none."""
        self.clear()
        for caution in cautions:
            item = QListWidgetItem(self._sign, caution.text)
            item.setData(Qt.ItemDataRole.UserRole, caution.bar)
            if caution.bar is not None:
                item.setToolTip(f"Go to bar {caution.bar}")
            self.addItem(item)
        self.setVisible(bool(cautions))
        self._fit()

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._sign = QIcon(pixmap("warning", colours.warning, 16, self.devicePixelRatioF()))
        for row in range(self.count()):
            self.item(row).setIcon(self._sign)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the height to the wrapped texts."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def _fit(self) -> None:
        """Give every entry the lines it needs, and the list the height of the first few."""
        beside = self.iconSize().width() + 18 + self.verticalScrollBar().sizeHint().width()
        width = max(self.width() - beside, 60)
        height = 0
        for row in range(self.count()):
            item = self.item(row)
            box = self.fontMetrics().boundingRect(0, 0, width, 10_000, Qt.TextFlag.TextWordWrap, item.text())
            item.setSizeHint(QSize(width, box.height() + 6))
            height += box.height() + 6 if row < _ROWS else 0
        if height + 2 != self.minimumHeight():
            self.setFixedHeight(height + 2)

    @Slot(QListWidgetItem)
    def _go(self, item: QListWidgetItem) -> None:
        bar = item.data(Qt.ItemDataRole.UserRole)
        if bar is not None:
            self.went_to.emit(bar)
