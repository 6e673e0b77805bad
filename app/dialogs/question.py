"""A question over the window that nothing waits for: its buttons say what happens, and call it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QWidget


def question(window: QWidget, title: str, text: str, more: str) -> QMessageBox:
    """Make a question without buttons.

    Parameters
    ----------
    window : QWidget
        Over which it appears.
    title, text, more : str
        Name of the question, the question, and what to know before answering.
    """
    box = QMessageBox(window)
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.setWindowTitle(title)
    box.setIcon(QMessageBox.Icon.Question)
    box.setText(text)
    box.setInformativeText(more)
    return box
