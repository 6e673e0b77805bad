"""How hard notes are struck."""

from __future__ import annotations

from PySide6.QtWidgets import QSpinBox, QWidget

from app.dialogs.ask import Ask


class VelocityDialog(Ask):
    """Asks for the velocity that notes are to get.

    Parameters
    ----------
    velocity : int
        What it is now; the median where several are asked about.
    notes : int
        How many they are.
    """

    def __init__(self, velocity: int, notes: int, parent: QWidget | None = None) -> None:
        what = "this note" if notes == 1 else f"these {notes} notes"
        super().__init__("Velocity", f"How hard is {what} struck, from 1 to 127?", parent)
        if notes > 1:
            self.words.setText(f"How hard are {what} struck, from 1 to 127? All of them get this velocity.")
        self.field = QSpinBox()
        self.field.setRange(1, 127)
        self.field.setValue(velocity)
        self.field.setAccessibleName("Velocity")
        self.field.selectAll()
        self.add(self.field)
        self.field.setFocus()
        self.judge("", good=True)
