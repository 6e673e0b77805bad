"""Every command and its keys on one sheet, made from the table of commands."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.action_set import ActionSet, shown
from app.actions import COMMANDS, MENUS
from app.dialogs.buttons import foot
from app.panels.roomy import Roomy

POINTER = (
    ("Drag a bar line", "Move it there and place it; it goes to near onsets"),
    ("Alt while dragging", "Do not go to onsets"),
    ("Double-click", "Place a bar line here; on a suggested line: keep it"),
    ("Click, Ctrl+click, Shift+click", "Select one line, one more, all up to here"),
    ("Shift+drag", "Select the bar lines of a stretch"),
    ("Wheel, Shift+wheel", "Zoom at the pointer, scroll"),
    ("Left, Right, Up, Down", "Select the bar line or beat before and after, in the timeline"),
)
"""What the pointer does in the timeline; and keys that belong to it alone."""


class ShortcutSheet(QDialog):
    """A list by menus with a field to look for a word or a key."""

    def __init__(self, actions: ActionSet, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Keys")
        self.resize(1000, 640)
        self.field = QLineEdit()
        self.field.setPlaceholderText("Look for a command or a key")
        self.field.setAccessibleName("Look for a command or a key")
        self.field.setClearButtonEnabled(True)
        self.field.textChanged.connect(self._look)
        self.list = QTreeWidget()
        self.list.setAccessibleName("Commands and their keys")
        self.list.setHeaderLabels(["Command", "Keys", "What it does"])
        self.list.setRootIsDecorated(False)
        self.list.setAlternatingRowColors(True)
        self.list.setUniformRowHeights(True)
        self.list.setItemDelegate(Roomy(self.list))
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self._rows: list[tuple[QTreeWidgetItem, list[QTreeWidgetItem]]] = []
        for menu in MENUS:
            rows = [
                (command.plain, shown(actions.keys[command.id]), command.tip)
                for command in COMMANDS
                if command.menu == menu
            ]
            self._add(menu.replace("&", ""), rows)
        self._add("With the pointer", [(words, "", does) for words, does in POINTER])
        self.list.expandAll()
        header = self.list.header()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        buttons = foot(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.field)
        column.addWidget(self.list, 1)
        column.addWidget(QLabel("Keys can be changed in the preferences."))
        column.addWidget(buttons)

    def _add(self, title: str, rows: list[tuple[str, str, str]]) -> None:
        top = QTreeWidgetItem([title])
        font = top.font(0)
        font.setBold(True)
        top.setFont(0, font)
        items = [QTreeWidgetItem(list(row)) for row in rows]
        for item in items:
            item.setToolTip(2, item.text(2))
        top.addChildren(items)
        self.list.addTopLevelItem(top)
        self._rows.append((top, items))

    def _look(self, words: str) -> None:
        wanted = words.strip().lower()
        for top, rows in self._rows:
            for row in rows:
                row.setHidden(wanted not in " ".join(row.text(column) for column in range(3)).lower())
            top.setHidden(all(row.isHidden() for row in rows))
