"""What a section is called."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget

from app.dialogs.ask import Ask

LONGEST = 60


class NameDialog(Ask):
    """Asks for the name of the section that begins at a bar.

    Parameters
    ----------
    bar : int
        Bar it begins with.
    usual : str
        The name it has, or that of new music.
    before : str
        The name it has; empty where none begins there yet.
    again : sequence of (str, str)
        Music that has a name, and what it is called when it comes again.
    parent : QWidget or None
    """

    def __init__(
        self,
        bar: int,
        usual: str,
        *,
        before: str = "",
        again: Sequence[tuple[str, str]] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(
            f"Section at bar {bar}",
            f"What is the section called that begins at bar {bar}? It lasts until the next one begins, and "
            "its name is written into the tempo map as a marker.",
            parent,
        )
        self._before = before
        self.field = QLineEdit(usual)
        self.field.setMaxLength(LONGEST)
        self.field.setPlaceholderText("Theme, bridge, storm …")
        self.field.setAccessibleName("Name of the section")
        self.field.selectAll()
        self.field.textChanged.connect(self._typed)
        self.add(self.field)
        self.music = QComboBox()
        self.music.setAccessibleName("What is heard in the section")
        self.music.addItem("As it is called now" if before else f"New music: {usual}", usual)
        for name, more in again:
            self.music.addItem(f"{name} again: {more}", more)
        self.music.currentIndexChanged.connect(self._chosen)
        self.add(self.music)
        self.music.setVisible(bool(again))
        self.field.setFocus()
        self._typed(usual)

    @property
    def name(self) -> str:
        """The name, without spaces around it."""
        return self.field.text().strip()

    @Slot()
    def _chosen(self) -> None:
        self.field.setText(self.music.currentData())
        self.field.selectAll()

    def _typed(self, _: str) -> None:
        if not self.name:
            self.judge("A section needs a name.", good=False)
        else:
            self.judge("", good=self.name != self._before)
