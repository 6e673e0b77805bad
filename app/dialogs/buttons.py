"""The buttons at the foot of a dialog."""

from __future__ import annotations

from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QDialogButtonBox


def foot(standard: QDialogButtonBox.StandardButton) -> QDialogButtonBox:
    """Buttons in the order of the system; in words alone, as the icons that come with Qt fit none of ours."""
    box = QDialogButtonBox(standard)
    for button in box.buttons():
        button.setIcon(QIcon())
    return box
