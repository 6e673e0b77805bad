"""The few commands that are at hand above the pages, and which page is shown."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolBar, QToolButton, QWidget

from app.action_set import ActionSet
from app.actions import PAGES, TOOLBAR, WITH_TEXT
from app.segments import Segments

SIDE_PANEL = "toggle_side_panel"

ROOM_FOR_WORDS = 1100
"""Pixels below which buttons show their icons alone."""


class Toolbar(QToolBar):
    """Made from the table of commands; every button can be reached with Tab."""

    def __init__(self, actions: ActionSet, parent: QWidget | None = None) -> None:
        super().__init__("Tools", parent)
        self._actions = actions
        self._worded: list[QToolButton] = []
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
        self._show_words(shown=True)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let words go before buttons have to."""
        self._show_words(shown=event.size().width() >= ROOM_FOR_WORDS)
        super().resizeEvent(event)

    def _show_words(self, *, shown: bool) -> None:
        style = Qt.ToolButtonStyle
        for button in self._worded:
            button.setToolButtonStyle(style.ToolButtonTextBesideIcon if shown else style.ToolButtonIconOnly)

    def _add(self, name: str) -> None:
        self.addAction(self._actions[name])
        button = self.widgetForAction(self._actions[name])
        if isinstance(button, QToolButton):
            if name in WITH_TEXT:
                self._worded.append(button)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setAccessibleName(self._actions.commands[name].plain)
