"""The menu of takes and projects opened before."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget


class RecentMenu(QMenu):
    """Lists files, the latest first."""

    wanted = Signal(object)
    """Path of the file to open."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__("Open &recent", parent)
        self.setToolTipsVisible(True)
        self.triggered.connect(self._chosen)

    def show_recent(self, paths: Sequence[Path]) -> None:
        """List these."""
        self.clear()
        for i, path in enumerate(paths, 1):
            name = path.name.replace("&", "&&")
            action = self.addAction(f"&{i} {name}" if i < 10 else name)
            action.setToolTip(str(path))
            action.setData(path)
        self.setEnabled(bool(paths))

    def _chosen(self, action: QAction) -> None:
        self.wanted.emit(action.data())
