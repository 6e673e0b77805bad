"""A column of titles, fields and boxes to tick, each with a sentence of help under it."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.handover.parts import prose


class Column(QVBoxLayout):
    """From top to bottom."""

    def title(self, words: str) -> QLabel:
        """Add a title, which is returned."""
        if self.count():
            self.addSpacing(11)
        title = prose(words, role="title")
        self.addWidget(title)
        return title

    def field(self, title: str, *widgets: QWidget, words: str = "") -> QLabel:
        """Add a title, its fields in one row, and the help under them, which is returned."""
        self.title(title).setBuddy(widgets[0])
        row = QHBoxLayout()
        row.setSpacing(6)
        for widget in widgets:
            row.addWidget(widget, 0 if widget is not widgets[0] else 1)
        widgets[0].setAccessibleName(title)
        widgets[0].setAccessibleDescription(words)
        self.addLayout(row)
        label = prose(words, role="help")
        self.addWidget(label)
        return label

    def box(self, words: str, explanation: str) -> tuple[QCheckBox, QLabel]:
        """Add a box to tick and the help under it."""
        box = QCheckBox(words)
        box.setAccessibleDescription(explanation)
        self.addWidget(box)
        label = prose(explanation, role="help")
        label.setContentsMargins(24, 0, 0, 4)
        self.addWidget(label)
        return box, label

    def under(self, *widgets: QWidget) -> None:
        """Add fields in one row that belong to the box above."""
        row = QHBoxLayout()
        row.setContentsMargins(24, 0, 0, 6)
        row.setSpacing(6)
        for widget in widgets:
            row.addWidget(widget)
        row.addStretch(1)
        self.addLayout(row)
