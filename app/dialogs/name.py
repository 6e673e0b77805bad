"""What a section is called."""

from __future__ import annotations

from PySide6.QtWidgets import QLineEdit, QWidget

from app.dialogs.ask import Ask

LONGEST = 60


class NameDialog(Ask):
    """Asks for the name of the section that begins at a bar."""

    def __init__(self, bar: int, before: str, parent: QWidget | None = None) -> None:
        super().__init__(
            f"Section at bar {bar}",
            f"What is the section called that begins at bar {bar}? It lasts until the next one begins, and "
            "its name is written into the tempo map as a marker.",
            parent,
        )
        self._before = before
        self.field = QLineEdit(before)
        self.field.setMaxLength(LONGEST)
        self.field.setPlaceholderText("Theme, bridge, storm …")
        self.field.setAccessibleName("Name of the section")
        self.field.selectAll()
        self.field.textChanged.connect(self._typed)
        self.add(self.field)
        self.field.setFocus()
        self._typed(before)

    @property
    def name(self) -> str:
        """The name, without spaces around it."""
        return self.field.text().strip()

    def _typed(self, _: str) -> None:
        if not self.name:
            self.judge("A section needs a name.", good=False)
        else:
            self.judge("", good=self.name != self._before)
