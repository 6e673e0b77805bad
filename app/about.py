"""What Barwright is, its licence, and the libraries it stands on with theirs."""

from __future__ import annotations

import platform
from importlib.metadata import PackageNotFoundError, metadata, version

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.buttons import foot
from app.icon import app_icon

LIBRARIES = {
    "PySide6-Essentials": "LGPL-3.0",
    "pyqtgraph": "MIT",
    "numpy": "BSD-3-Clause",
    "scipy": "BSD-3-Clause",
    "librosa": "ISC",
    "soundfile": "BSD-3-Clause",
    "soxr": "LGPL-2.1",
    "mido": "MIT",
    "sounddevice": "MIT",
    "python-stretch": "MIT",
    "av": "BSD-3-Clause",
}
"""Distributions in use, and their licence where their own metadata does not name it in a word."""

LICENCE = """\
Barwright is free software under the MIT licence: use it, copy it, change it and pass it on, keeping the notice \
of copyright. It comes without any warranty.

Copyright (c) 2026 the Barwright authors"""


def licences() -> list[tuple[str, str, str]]:
    """Name, version and licence of every library that is installed of those in use."""
    rows = []
    for name, usual in LIBRARIES.items():
        try:
            told = metadata(name)
        except PackageNotFoundError:
            continue
        named = (told.get_all("License-Expression") or [""])[0]
        rows.append((name, version(name), named if 0 < len(named) < 40 else usual))
    return rows


def own_version() -> str:
    """Version of Barwright; a checkout that was never installed has none."""
    try:
        return version("barwright")
    except PackageNotFoundError:
        return "(not installed)"


class AboutDialog(QDialog):
    """The sign, the version, the licences."""

    def __init__(self, *, dark: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("About Barwright")
        self.resize(560, 520)
        sign = QLabel()
        sign.setPixmap(app_icon(dark=dark).pixmap(QSize(72, 72), self.devicePixelRatioF()))
        name = QLabel("Barwright")
        font = name.font()
        font.setPointSizeF(font.pointSizeF() * 1.8)
        font.setBold(True)
        name.setFont(font)
        what = QLabel(f"Version {own_version()}\nBar lines that follow your playing")
        words = QVBoxLayout()
        words.addWidget(name)
        words.addWidget(what)
        words.addStretch(1)
        head = QHBoxLayout()
        head.setSpacing(18)
        head.addWidget(sign, 0, Qt.AlignmentFlag.AlignTop)
        head.addLayout(words, 1)
        licence = QLabel(LICENCE)
        licence.setWordWrap(True)
        self.libraries = QTreeWidget()
        self.libraries.setAccessibleName("Libraries in use")
        self.libraries.setHeaderLabels(["Library", "Version", "Licence"])
        self.libraries.setRootIsDecorated(False)
        self.libraries.setAlternatingRowColors(True)
        self.libraries.setColumnWidth(0, 220)
        python = ("Python", platform.python_version(), "PSF-2.0")
        self.libraries.addTopLevelItems([QTreeWidgetItem(list(row)) for row in [python, *licences()]])
        buttons = foot(QDialogButtonBox.StandardButton.Close)
        buttons.addButton("Copy", QDialogButtonBox.ButtonRole.ActionRole).clicked.connect(self.copy)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 18)
        column.setSpacing(14)
        column.addLayout(head)
        column.addWidget(licence)
        column.addWidget(QLabel("It stands on these libraries:"))
        column.addWidget(self.libraries, 1)
        column.addWidget(buttons)

    def copy(self) -> None:
        """Put versions on the clipboard, for a report."""
        rows = "\n".join(f"{name} {number} ({licence})" for name, number, licence in licences())
        QGuiApplication.clipboard().setText(
            f"Barwright {own_version()}\nPython {platform.python_version()}, {platform.platform()}\n{rows}"
        )
