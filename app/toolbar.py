"""The few commands that are at hand above the pages, and which page is shown."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QSizePolicy, QToolBar, QToolButton, QWidget

from app.action_set import ActionSet
from app.actions import PAGES, TOOLBAR, WITH_TEXT
from app.segments import Segments

SIDE_PANEL = "toggle_side_panel"


class Toolbar(QToolBar):
    """Made from the table of commands; every button can be reached with Tab."""

    def __init__(self, actions: ActionSet, parent: QWidget | None = None) -> None:
        super().__init__("Tools", parent)
        self._actions = actions
        self.setObjectName("tools")
        self.setMovable(False)
        self.setIconSize(QSize(20, 20))
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        for i, group in enumerate(TOOLBAR):
            if i:
                self.addSeparator()
            for name in group:
                self._add(name)
        room = QWidget()
        room.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.addWidget(room)
        rows = [actions.commands[name] for name in PAGES]
        self.segments = Segments([actions[row.id] for row in rows], [row.icon for row in rows], "Page")
        self.addWidget(self.segments)
        self._add(SIDE_PANEL)

    def _add(self, name: str) -> None:
        self.addAction(self._actions[name])
        button = self.widgetForAction(self._actions[name])
        if isinstance(button, QToolButton):
            style = Qt.ToolButtonStyle
            with_text = name in WITH_TEXT
            button.setToolButtonStyle(style.ToolButtonTextBesideIcon if with_text else style.ToolButtonIconOnly)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setAccessibleName(self._actions.commands[name].plain)
