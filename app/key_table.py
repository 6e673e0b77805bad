"""The keys of every command, to be chosen anew; two commands cannot share one."""

from __future__ import annotations

from collections import defaultdict

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QKeySequenceEdit,
    QLabel,
    QLineEdit,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.action_set import shown
from app.actions import COMMANDS
from app.panels.roomy import Roomy

ID = Qt.ItemDataRole.UserRole


class KeyTable(QWidget):
    """Edits a copy of the keys; `chosen` gives those that differ from the usual ones.

    Parameters
    ----------
    keys : dict of str to tuple of str
        The keys in use, by the id of their command.
    """

    def __init__(self, keys: dict[str, tuple[str, ...]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._keys = dict(keys)
        self._rows: dict[str, QTreeWidgetItem] = {}
        self.look = QLineEdit()
        self.look.setPlaceholderText("Look for a command or a key")
        self.look.setAccessibleName("Look for a command or a key")
        self.look.setClearButtonEnabled(True)
        self.look.textChanged.connect(self._look)
        self.list = QTreeWidget()
        self.list.setAccessibleName("Commands and their keys")
        self.list.setHeaderLabels(["Command", "Keys"])
        self.list.setRootIsDecorated(False)
        self.list.setAlternatingRowColors(True)
        self.list.setUniformRowHeights(True)
        self.list.setItemDelegate(Roomy(self.list))
        for command in COMMANDS:
            row = self._rows[command.id] = QTreeWidgetItem(
                [f"{command.menu.replace('&', '')}: {command.plain}", ""]
            )
            row.setData(0, ID, command.id)
            row.setToolTip(0, command.tip)
            self.list.addTopLevelItem(row)
        self.list.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.list.header().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.list.header().setStretchLastSection(False)
        self.list.currentItemChanged.connect(self._chosen_row)
        self.field = QKeySequenceEdit()
        self.field.setMaximumSequenceLength(1)
        self.field.setAccessibleName("New key for the chosen command")
        self.take = self._button("Use this key", "The chosen command gets this key, and no other")
        self.take.clicked.connect(self._take)
        self.none = self._button("No key", "The chosen command has no key")
        self.none.clicked.connect(self._take_none)
        self.usual = self._button("Usual key", "The chosen command has its first keys again")
        self.usual.clicked.connect(self._take_usual)
        self.all_usual = self._button("All as they were", "Every command has its first keys again")
        self.all_usual.clicked.connect(self._take_all_usual)
        self.note = QLabel()
        self.note.setWordWrap(True)
        row_of_buttons = QHBoxLayout()
        row_of_buttons.addWidget(self.field, 1)
        for button in (self.take, self.none, self.usual, self.all_usual):
            row_of_buttons.addWidget(button)
        column = QVBoxLayout(self)
        column.addWidget(self.look)
        column.addWidget(self.list, 1)
        column.addLayout(row_of_buttons)
        column.addWidget(self.note)
        self.choose_row(COMMANDS[0].id)
        self._show()

    @staticmethod
    def _button(words: str, tip: str) -> QPushButton:
        button = QPushButton(words)
        button.setToolTip(tip)
        button.setAutoDefault(False)
        return button

    @property
    def chosen(self) -> dict[str, list[str]]:
        """Keys that differ from those of the table of commands."""
        return {each.id: list(self._keys[each.id]) for each in COMMANDS if self._keys[each.id] != each.keys}

    @property
    def conflicts(self) -> dict[str, list[str]]:
        """Keys that more than one command has, with their ids."""
        owners = defaultdict(list)
        for name, keys in self._keys.items():
            for key in keys:
                owners[QKeySequence(key).toString()].append(name)
        return {key: names for key, names in owners.items() if len(names) > 1}

    def choose_row(self, name: str) -> None:
        """Go to the row of a command."""
        self.list.setCurrentItem(self._rows[name])

    def _current(self) -> str:
        row = self.list.currentItem()
        return COMMANDS[0].id if row is None else str(row.data(0, ID))

    def _chosen_row(self) -> None:
        keys = self._keys[self._current()]
        self.field.setKeySequence(QKeySequence(keys[0] if keys else ""))

    def _set(self, name: str, keys: tuple[str, ...]) -> None:
        self._keys[name] = keys
        self._show()

    def _take(self) -> None:
        key = self.field.keySequence().toString(QKeySequence.SequenceFormat.PortableText)
        self._set(self._current(), (key,) if key else ())

    def _take_none(self) -> None:
        self.field.clear()
        self._set(self._current(), ())

    def _take_usual(self) -> None:
        name = self._current()
        self._set(name, next(each.keys for each in COMMANDS if each.id == name))
        self._chosen_row()

    def _take_all_usual(self) -> None:
        self._keys = {each.id: each.keys for each in COMMANDS}
        self._show()
        self._chosen_row()

    def _show(self) -> None:
        doubled = self.conflicts
        for name, row in self._rows.items():
            row.setText(1, shown(self._keys[name]))
            clash = any(name in names for names in doubled.values())
            font = row.font(1)
            font.setBold(clash)
            row.setFont(1, font)
        titles = {each.id: each.plain for each in COMMANDS}
        said = [
            f"{key} belongs to {' and '.join(titles[name] for name in names)}" for key, names in doubled.items()
        ]
        self.note.setText("; ".join(said) + ": a key that two commands have does neither." if said else "")

    def _look(self, words: str) -> None:
        wanted = words.strip().lower()
        for row in self._rows.values():
            row.setHidden(wanted not in f"{row.text(0)} {row.text(1)}".lower())
