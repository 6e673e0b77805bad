"""One question, one field, and at once a sentence when the answer cannot be."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QVBoxLayout, QWidget

from app.dialogs.buttons import foot


class Ask(QDialog):
    """A question over the window; it is deleted when it closes.

    Parameters
    ----------
    title : str
        Name of the question.
    words : str
        What is asked, in a sentence or two.
    """

    def __init__(self, title: str, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.setMinimumWidth(420)
        self.words = QLabel(words)
        self.words.setWordWrap(True)
        self.note = QLabel()
        self.note.setWordWrap(True)
        # Two lines are kept free, so that the dialog does not jump while one types.
        self.note.setMinimumHeight(2 * self.note.fontMetrics().lineSpacing())
        self.note.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.buttons = foot(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.column = QVBoxLayout(self)
        self.column.setSpacing(10)
        self.column.addWidget(self.words)
        self.column.addWidget(self.note)
        self.column.addWidget(self.buttons)

    def add(self, field: QWidget) -> None:
        """Put a field under the words."""
        self.column.insertWidget(self.column.count() - 2, field)

    def judge(self, note: str, *, good: bool) -> None:
        """Say what follows from the answer, or why it cannot be."""
        self.note.setText(note)
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(good)
