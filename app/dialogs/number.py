"""Which number a bar has."""

from __future__ import annotations

from PySide6.QtWidgets import QSpinBox, QWidget

from app.dialogs.ask import Ask


class NumberDialog(Ask):
    """Asks for the true number of a bar line, where bars were missed or counted too often before it."""

    def __init__(self, bar: int, parent: QWidget | None = None) -> None:
        super().__init__(
            f"Number of bar {bar}",
            f"Which bar begins at the line now counted as bar {bar}? It is placed there, and the bars before "
            "it, back to the last placed line, are counted out anew.",
            parent,
        )
        self._bar = bar
        self.field = QSpinBox()
        self.field.setRange(-999, 99999)
        self.field.setValue(bar)
        self.field.setAccessibleName("Bar number")
        self.field.selectAll()
        self.field.valueChanged.connect(self._typed)
        self.add(self.field)
        self.field.setFocus()
        self._typed(bar)

    def _typed(self, number: int) -> None:
        more = number - self._bar
        if not more:
            self.judge("That is its number already.", good=False)
            return
        count = f"{abs(more)} bar{'' if abs(more) == 1 else 's'}"
        told = f"{count} more" if more > 0 else f"{count} fewer"
        self.judge(f"There will be {told} before it; all later numbers follow.", good=True)
