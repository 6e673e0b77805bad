"""Everything that was said in this session, to be read again."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QListWidget, QPlainTextEdit, QVBoxLayout, QWidget

from app.dialogs.buttons import foot
from app.state import Message


class MessagesDialog(QDialog):
    """A list of messages, the latest first, and the details of the chosen one."""

    def __init__(self, messages: list[Message], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Messages")
        self.resize(620, 420)
        self._messages = messages[::-1]
        self.list = QListWidget()
        self.list.setAccessibleName("Messages, the latest first")
        self.list.setWordWrap(True)
        self.list.setAlternatingRowColors(True)
        self.list.addItems([("Not done: " if each.warning else "") + each.text for each in self._messages])
        self.details = QPlainTextEdit()
        self.details.setReadOnly(True)
        self.details.setAccessibleName("Details")
        self.details.setPlaceholderText("Nothing more to say about this one.")
        buttons = foot(QDialogButtonBox.StandardButton.Close)
        self.copy = buttons.addButton("Copy", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.setEnabled(bool(messages))
        self.copy.clicked.connect(self._copy)
        buttons.rejected.connect(self.close)
        column = QVBoxLayout(self)
        if messages:
            column.addWidget(self.list, 2)
            column.addWidget(self.details, 1)
        else:
            nothing = QLabel("Nothing has been said yet.")
            nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
            column.addWidget(nothing, 1)
        column.addWidget(buttons)
        self.list.currentRowChanged.connect(self._show)
        self.list.setCurrentRow(0)

    def _show(self, row: int) -> None:
        self.details.setPlainText(self._messages[row].details if row >= 0 else "")

    def _copy(self) -> None:
        message = self._messages[max(self.list.currentRow(), 0)]
        QGuiApplication.clipboard().setText(f"{message.text}\n\n{message.details}".strip())
