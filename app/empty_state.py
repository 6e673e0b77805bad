"""What an empty window shows: how to begin, and what was open before."""

from __future__ import annotations

import string
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from app.colours import Colours, colours_for
from app.icon import icon
from app.panels.roomy import Roomy
from app.theme import palette_for

STEPS = (
    ("Open a take", "A MIDI file or a sound file of free playing. It is only read, never changed."),
    (
        "Say where the first two bars begin",
        "Drag the first two bar lines into place. What follows falls in behind them.",
    ),
    ("Put the doubtful ones right, and hand over", "D leads to each. Then your sequencer gets a tempo map."),
)
FIRST = string.Template("""
QPushButton {
    background: $chosen; color: $on_chosen; border: 1px solid $chosen;
    border-radius: 5px; padding: 0 18px; font-weight: 600;
}
QPushButton:hover, QPushButton:focus { border: 2px solid $text; padding: 0 17px; }
""")
WIDE = 620
"""Pixels of the column of text."""


def example_folder() -> Path | None:
    """The examples of a checkout, where there are any."""
    folder = Path(__file__).parent.parent / "examples"
    return folder if (folder / "low-tide.mid").is_file() else None


class Step(QWidget):
    """A step: its number in a ring, what to do, and a sentence about it."""

    def __init__(self, number: int, words: str, more: str) -> None:
        super().__init__()
        self._number = number
        self.setFixedHeight(58)
        self.head = QLabel(words)
        font = self.head.font()
        font.setBold(True)
        self.head.setFont(font)
        self.more = QLabel(more)
        self.more.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(52, 4, 0, 4)
        column.setSpacing(2)
        column.addStretch(1)
        column.addWidget(self.head)
        column.addWidget(self.more)
        column.addStretch(1)

    def paintEvent(self, _: QPaintEvent) -> None:
        """Paint the number."""
        colours = colours_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ring = self.rect().adjusted(0, 0, 0, 0)
        ring.setWidth(34)
        ring.setHeight(34)
        ring.moveTop((self.height() - 34) // 2)
        painter.setPen(QPen(colours.note, 1.75))
        painter.setBrush(colours.lane)
        painter.drawEllipse(ring.adjusted(1, 1, -1, -1))
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(colours.text)
        painter.drawText(ring, Qt.AlignmentFlag.AlignCenter, str(self._number))
        painter.end()


class EmptyState(QWidget):
    """Leads into the work.

    Parameters
    ----------
    open_take, open_example : QAction
        Commands behind the two buttons; the second is left out where there is no example.
    """

    wanted = Signal(object)
    """Path of a recent take that is to be opened."""

    def __init__(self, open_take: QAction, open_example: QAction, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hovered = False
        title = QLabel("Free playing in, bars out")
        font = title.font()
        font.setPointSizeF(font.pointSizeF() * 1.9)
        font.setBold(True)
        title.setFont(font)
        under = QLabel(
            "Barwright finds the bar lines of a take played without a click, and obeys the ones you place."
        )
        under.setWordWrap(True)
        self.open = QPushButton("Open a take…")
        self.open.clicked.connect(open_take.trigger)
        self.example = QPushButton("Open the ten-minute example")
        self.example.clicked.connect(open_example.trigger)
        self.example.setVisible(example_folder() is not None)
        for button in (self.open, self.example):
            button.setIconSize(QSize(20, 20))
            button.setMinimumHeight(38)
        drop = QLabel("or drop a file anywhere in this window")
        buttons = QHBoxLayout()
        buttons.setSpacing(10)
        buttons.addWidget(self.open)
        buttons.addWidget(self.example)
        buttons.addStretch(1)
        self.head = QLabel("Opened before")
        head_font = self.head.font()
        head_font.setBold(True)
        self.head.setFont(head_font)
        self.recent = QListWidget()
        self.recent.setAccessibleName("Takes opened before")
        self.recent.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.recent.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.recent.setFrameShape(QListWidget.Shape.NoFrame)
        self.recent.setItemDelegate(Roomy(self.recent))
        self.recent.itemActivated.connect(self._open)
        self.recent.itemClicked.connect(self._open)

        self._lay_out(title, under, buttons, drop)
        self.setTabOrder(self.open, self.example)
        self.setTabOrder(self.example, self.recent)
        self.show_recent(())

    def _lay_out(self, title: QLabel, under: QLabel, buttons: QHBoxLayout, drop: QLabel) -> None:
        column = QVBoxLayout()
        column.setSpacing(6)
        column.addStretch(2)
        column.addWidget(title)
        column.addWidget(under)
        column.addSpacing(18)
        for number, (words, more) in enumerate(STEPS, 1):
            column.addWidget(Step(number, words, more))
        column.addSpacing(14)
        column.addLayout(buttons)
        column.addWidget(drop)
        column.addSpacing(18)
        column.addWidget(self.head)
        column.addWidget(self.recent)
        column.addStretch(3)
        middle = QWidget()
        middle.setMaximumWidth(WIDE)
        middle.setLayout(column)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 12, 24, 12)
        row.addStretch(1)
        row.addWidget(middle, 20)
        row.addStretch(1)

    def recolour(self, colours: Colours) -> None:
        """Take other colours; the button to begin with stands out."""
        palette = palette_for(colours)
        chosen, on_chosen = palette.highlight().color(), palette.highlightedText().color()
        self.open.setStyleSheet(
            FIRST.substitute(chosen=chosen.name(), on_chosen=on_chosen.name(), text=colours.text.name())
        )
        self.open.setIcon(icon("open", replace(colours, text=on_chosen)))
        self.example.setIcon(icon("example", colours))

    def show_recent(self, paths: tuple[Path, ...]) -> None:
        """List takes opened before."""
        self.recent.clear()
        for path in paths:
            item = QListWidgetItem(f"{path.name}    {path.parent}")
            item.setData(Qt.ItemDataRole.UserRole, path)
            item.setToolTip(str(path))
            self.recent.addItem(item)
        self.head.setVisible(bool(paths))
        self.recent.setVisible(bool(paths))
        rows = min(len(paths), 6)
        self.recent.setFixedHeight(max(rows, 1) * self.recent.sizeHintForRow(0) if paths else 0)

    def show_drop(self, hovered: bool) -> None:
        """Show that what is held over the window can be dropped."""
        if hovered != self._hovered:
            self._hovered = hovered
            self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        """Frame the place while a file is held over it."""
        if self._hovered:
            colours = colours_for(self.palette())
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            fill = QColor(colours.note)
            fill.setAlpha(28)
            painter.setBrush(fill)
            painter.setPen(QPen(colours.note, 2, Qt.PenStyle.DashLine))
            painter.drawRoundedRect(self.rect().adjusted(10, 10, -11, -11), 10, 10)
            painter.end()

    def _open(self, item: QListWidgetItem) -> None:
        self.wanted.emit(item.data(Qt.ItemDataRole.UserRole))
