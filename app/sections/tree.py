"""The tree that sections are listed in: its columns, and the keys that mean a section."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTreeWidget, QWidget

from app.sections.looks import SWATCH

COLUMNS = ("Section", "Bars", "Length", "Tempo", "\N{PLUS-MINUS SIGN}")
_TIPS = (
    "Name, and the colour of the section; F2 renames",
    "How many bars it has",
    "Minutes and seconds as played",
    "Mean tempo in quarters a minute",
    "By how much the tempo of its bars typically differs from that",
)
_KEYS = (Qt.Key.Key_F2, Qt.Key.Key_Delete)


class Tree(QTreeWidget):
    """Keeps the keys that mean a section from being taken for commands on bar lines."""

    merge_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setColumnCount(len(COLUMNS))
        self.setHeaderLabels(COLUMNS)
        for column, tip in enumerate(_TIPS):
            self.headerItem().setToolTip(column, tip)
            if column:
                self.headerItem().setTextAlignment(column, Qt.AlignmentFlag.AlignRight)
        self.setRootIsDecorated(False)
        self.setUniformRowHeights(True)
        self.setAllColumnsShowFocus(True)
        self.setIconSize(SWATCH)
        self.setFrameShape(QTreeWidget.Shape.NoFrame)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.EditKeyPressed | QAbstractItemView.EditTrigger.DoubleClicked
        )
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.setAccessibleName("Sections: bars, length, mean tempo and its spread")
        header = self.header()
        header.setStretchLastSection(False)
        header.setMinimumSectionSize(24)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setSectionsMovable(False)

    def event(self, event: QEvent) -> bool:
        """Keep them."""
        override = event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent)
        if override and event.key() in _KEYS and not event.modifiers():  # type: ignore[attr-defined]
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Delete merges a section with the one before."""
        if event.key() == Qt.Key.Key_Delete:
            self.merge_wanted.emit()
        else:
            super().keyPressEvent(event)
