"""Which bar to go to."""

from __future__ import annotations

from PySide6.QtWidgets import QSpinBox, QWidget

from app.dialogs.ask import Ask


class GoToDialog(Ask):
    """Asks for the number of a bar between the first and the last."""

    def __init__(self, bar: int, first: int, last: int, parent: QWidget | None = None) -> None:
        super().__init__("Go to a bar", f"Bars {first} to {last} are there.", parent)
        self.field = QSpinBox()
        self.field.setRange(first, last)
        self.field.setValue(bar)
        self.field.setAccessibleName("Bar number")
        self.field.selectAll()
        self.add(self.field)
        self.field.setFocus()
        self.note.hide()
