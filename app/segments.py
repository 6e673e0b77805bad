"""A row of joined buttons of which one is down: which page is shown."""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QIcon
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QWidget

from app.colours import Colours
from app.icon import icon
from app.theme import palette_for

LOOK = string.Template("""
QToolButton {
    border: 1px solid $edge; border-right-width: 0; padding: 4px 12px;
    background: $lane; color: $text;
}
QToolButton[end="left"] { border-top-left-radius: 6px; border-bottom-left-radius: 6px; }
QToolButton[end="right"] { border-top-right-radius: 6px; border-bottom-right-radius: 6px; }
QToolButton[end="right"] { border-right-width: 1px; }
QToolButton:hover:enabled { background: $ground; }
QToolButton:checked { background: $chosen; color: $on_chosen; font-weight: 600; }
QToolButton:disabled { color: $edge; background: $ground; }
QToolButton:focus { border: 2px solid $text; padding: 3px 11px; }
""")


class Segments(QWidget):
    """Shows checkable actions of one group side by side.

    Parameters
    ----------
    actions : sequence of QAction
        From left to right; they have no icons themselves.
    icons : sequence of str
        Names of their icons.
    name : str
        What is chosen, for those who listen to the window.
    """

    def __init__(
        self, actions: Sequence[QAction], icons: Sequence[str], name: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 0, 4, 0)
        row.setSpacing(0)
        self.buttons: list[QToolButton] = []
        self._icons = list(icons)
        for i, action in enumerate(actions):
            # White where it is down, which would not do in a menu.
            action.setIconVisibleInMenu(False)
            button = QToolButton()
            button.setDefaultAction(action)
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            button.setIconSize(QSize(18, 18))
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setProperty("end", {0: "left", len(actions) - 1: "right"}.get(i, "none"))
            row.addWidget(button)
            self.buttons.append(button)

    def recolour(self, colours: Colours) -> None:
        """Take other colours; a style sheet does not follow the palette by itself."""
        palette = palette_for(colours)
        self.setStyleSheet(
            LOOK.substitute(
                edge=colours.edge.name(),
                text=colours.text.name(),
                lane=colours.lane.name(),
                ground=colours.ground.name(),
                chosen=palette.highlight().color().name(),
                on_chosen=palette.highlightedText().color().name(),
            )
        )
        white = replace(colours, text=palette.highlightedText().color())
        for button, name in zip(self.buttons, self._icons, strict=True):
            made = QIcon(icon(name, colours))
            for size in made.availableSizes():
                made.addPixmap(icon(name, white).pixmap(size), QIcon.Mode.Normal, QIcon.State.On)
                made.addPixmap(made.pixmap(size, QIcon.Mode.Disabled), QIcon.Mode.Disabled, QIcon.State.On)
            button.defaultAction().setIcon(made)
