"""The bar over the timeline in which a pass is begun, tapped, and its lines placed or dropped."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal, Slot
from PySide6.QtGui import QAction, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QCheckBox,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSpinBox,
    QToolButton,
    QWidget,
)

from app.colours import Colours, colours_for
from app.icon import icon
from app.message_strip import ElidedLabel
from app.strip import paint_strip
from app.tapping.pad import Pad
from app.tapping.words import KINDS, counted

NARROW = 760
"""Pixels below which what is chosen takes one more row."""


class TappingBar(QFrame):
    """Shows one of four faces: ready, running, reading, and what was read."""

    kind_chosen = Signal(object)
    """`TapPass.every` of what is tapped, None for a guess."""
    first_chosen = Signal(int)
    """Bar that the first tap was meant for."""
    range_chosen = Signal(int, int)
    """First and last bar to be placed."""
    doubtful_chosen = Signal(bool)
    """Whether doubtful lines are placed too."""
    done_wanted = Signal()
    place_wanted = Signal()
    again_wanted = Signal()
    drop_wanted = Signal()
    calibrate_wanted = Signal()
    any_note_wanted = Signal()
    learn_wanted = Signal()
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Tapping")
        self.pad = Pad()
        self.words, self.more = ElidedLabel(), ElidedLabel()
        strong = self.words.font()
        strong.setBold(True)
        self.words.setFont(strong)
        self.kind = QComboBox()
        for words, every in KINDS:
            self.kind.addItem(words, every)
        self.kind.setAccessibleName("What is tapped")
        self.first = self._number("Bar that the first tap was meant for")
        self.low = self._number("First bar to place")
        self.high = self._number("Last bar to place")
        self.doubtful = QCheckBox()
        self.doubtful.setChecked(True)
        self.doubtful.setToolTip("Whether lines with a question mark are placed as well")
        self.done = self._button("Done", "End the pass (Esc)")
        self.place = self._button("Place", "Place these bar lines: one step that can be undone")
        self.again = self._button("Tap again", "One more pass over the same bars: what both say is surer")
        self.drop = self._button("Drop", "Forget these taps; nothing is placed")
        self.calibrate = self._button("Calibrate…", "One minute of tapping to a click: how early or late you tap")
        self.midi = QToolButton()
        self.midi.setText("MIDI")
        self.midi.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(self.midi)
        self.any_note = QAction("Any note taps", menu, checkable=True)
        self.learn = QAction("Choose a pad or pedal: press it next", menu)
        menu.addActions([self.any_note, self.learn])
        self.midi.setMenu(menu)
        self.dismiss = QToolButton()
        self.dismiss.setAutoRaise(True)
        self.dismiss.setAccessibleName("Close the tapping bar")
        self.dismiss.setToolTip("Close the tapping bar; taps that wait are kept")
        self._first = 1
        self._lay_out()
        self._connect()
        self.hide()

    def _lay_out(self) -> None:
        self.asked, self.from_bar = QLabel(), QLabel("the first tap is bar")
        self._meant = _row(self.asked, self.kind, self.from_bar, self.first)
        self._placed = _row(QLabel("Place bars"), self.low, QLabel("to"), self.high, self.doubtful)
        self._buttons = _row(self.place, self.again, self.drop, self.done, self.calibrate, self.midi, self.dismiss)
        choices = QWidget()
        self._choices = QBoxLayout(QBoxLayout.Direction.LeftToRight, choices)
        self._choices.setContentsMargins(0, 0, 0, 0)
        self._choices.setSpacing(3)
        self._choices.addWidget(self._meant, 0, Qt.AlignmentFlag.AlignLeft)
        self._choices.addWidget(self._placed, 0, Qt.AlignmentFlag.AlignLeft)
        grid = QGridLayout(self)
        grid.setContentsMargins(10, 6, 8, 6)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(3)
        grid.addWidget(self.pad, 0, 0, 3, 1)
        grid.addWidget(self.words, 0, 1)
        grid.addWidget(self._buttons, 0, 2, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self.more, 1, 1, 1, 2)
        grid.addWidget(choices, 2, 1, 1, 2, Qt.AlignmentFlag.AlignLeft)
        grid.setColumnStretch(1, 1)

    def _connect(self) -> None:
        self.kind.activated.connect(self._choose_kind)
        self.first.editingFinished.connect(self._choose_first)
        self.low.valueChanged.connect(self._choose_range)
        self.high.valueChanged.connect(self._choose_range)
        self.doubtful.toggled.connect(self.doubtful_chosen)
        self.done.clicked.connect(self.done_wanted)
        self.place.clicked.connect(self.place_wanted)
        self.again.clicked.connect(self.again_wanted)
        self.drop.clicked.connect(self.drop_wanted)
        self.calibrate.clicked.connect(self.calibrate_wanted)
        self.any_note.triggered.connect(self.any_note_wanted)
        self.learn.triggered.connect(self.learn_wanted)
        self.dismiss.clicked.connect(self.closed)

    @property
    def every(self) -> int | None:
        """What is chosen: as `TapPass.every`, None for a guess."""
        every: int | None = self.kind.currentData()
        return every

    # Faces

    def show_ready(self, words: str, more: str) -> None:
        """Say how a pass is begun."""
        self._face(words, more, self.calibrate, self.midi, self._meant, self.pad)
        self.asked.setText("Tap on")
        self.from_bar.hide()
        self.first.hide()
        self.pad.say("Start", "Space", armed=False)

    def show_running(self, words: str, more: str) -> None:
        """Say what has been tapped."""
        self._face(words, more, self.done, self.pad)
        self.pad.say("Tap", "Space", armed=True)

    def show_reading(self, words: str) -> None:
        """Taps are being read."""
        self._face(words, "", self.drop)

    def show_failed(self, words: str, every: int, first: int) -> None:
        """Say why they cannot be read; what they mean can be said otherwise."""
        self._face("These taps cannot be read as they are meant.", words, self.again, self.drop, self._meant)
        self._show_meaning(every, first)

    def show_read(self, words: str, more: str, *, every: int, first: int, bars: tuple[int, int]) -> None:
        """Say what was read, and from where to where it would be placed."""
        self._face(words, more, self.place, self.again, self.drop, self._meant, self._placed)
        self._show_meaning(every, first)
        for field, value in zip((self.low, self.high), bars, strict=True):
            with QSignalBlocker(field):
                field.setRange(*bars)
                field.setValue(value)

    def show_range(self, low: int, high: int) -> None:
        """Show other bars as those to be placed."""
        for field, value in ((self.low, low), (self.high, high)):
            with QSignalBlocker(field):
                field.setValue(value)

    def show_midi(self, listening: str, taps: str, *, free: bool) -> None:
        """Say which controllers are listened to and what on them taps; `free` where any note does."""
        self.midi.setToolTip(f"{listening}\nTaps: {taps}".strip())
        self.any_note.setChecked(free)

    def tick_doubtful(self) -> None:
        """Doubtful lines are placed too, until it is said otherwise."""
        with QSignalBlocker(self.doubtful):
            self.doubtful.setChecked(True)

    def show_count(self, bars: int) -> None:
        """Say how many bar lines would be placed."""
        self.place.setText(f"Place {bars}")
        self.place.setEnabled(bars > 0)

    def show_doubtful(self, count: int) -> None:
        """Say how many of them are doubtful; with none there is nothing to choose."""
        self.doubtful.setVisible(count > 0)
        self.doubtful.setText(f"and the {counted(count, 'doubtful one')}")

    def _show_meaning(self, every: int, first: int) -> None:
        self.asked.setText("Tapped on")
        self.kind.setCurrentIndex(max(self.kind.findData(every), 0))
        self.from_bar.show()
        self.first.show()
        with QSignalBlocker(self.first):
            self.first.setValue(first)
        self._first = first

    def _face(self, words: str, more: str, *shown: QWidget) -> None:
        deeds = (self.place, self.again, self.drop, self.done, self.calibrate, self.midi)
        for widget in (*deeds, self._meant, self._placed, self.pad):
            widget.setVisible(widget in shown)
        self.words.say(words)
        self.more.say(more)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self.dismiss.setIcon(icon("cancel", colours))

    # What is chosen

    @Slot()
    def _choose_kind(self) -> None:
        self.kind_chosen.emit(self.every)

    @Slot()
    def _choose_first(self) -> None:
        if self.first.value() != self._first:
            self._first = self.first.value()
            self.first_chosen.emit(self._first)

    @Slot()
    def _choose_range(self) -> None:
        self.range_chosen.emit(self.low.value(), self.high.value())

    def stop(self) -> None:
        """Leave no timer behind."""
        self.pad.rest()

    # Events

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the choices one under the other where they do not fit side by side."""
        super().resizeEvent(event)
        way = QBoxLayout.Direction
        self._choices.setDirection(way.TopToBottom if event.size().width() < NARROW else way.LeftToRight)
        self._choices.setSpacing(3 if event.size().width() < NARROW else 24)

    def paintEvent(self, _: QPaintEvent) -> None:
        """Set the bar apart from the page by its ground and a line."""
        paint_strip(self, colours_for(self.palette()))

    # Parts

    @staticmethod
    def _number(name: str) -> QSpinBox:
        field = QSpinBox()
        field.setRange(-999, 99999)
        field.setAccessibleName(name)
        field.setToolTip(name)
        field.setKeyboardTracking(False)
        return field

    @staticmethod
    def _button(text: str, tip: str) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.setAutoDefault(False)
        return button


def _row(*widgets: QWidget) -> QWidget:
    row = QWidget()
    layout = QHBoxLayout(row)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(6)
    for widget in widgets:
        layout.addWidget(widget)
    return row
