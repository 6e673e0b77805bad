"""The pauses of a take: what each would save, and how much of that is taken out."""

from __future__ import annotations

from PySide6.QtCore import QItemSelection, QSignalBlocker, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QAbstractItemView,
    QGridLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from app.panels.roomy import Roomy
from app.sayings import clock
from core.arrangement import Arrangement
from core.hesitations import Hesitation

MOST = 120
"""Percent of what its neighbours suggest that can be taken out of a pause."""


def taken_of(pause: Hesitation, arrangement: Arrangement) -> float:
    """Seconds that are taken out of a pause."""
    inside = [one for one in arrangement.taken if pause.start <= one.start and one.end <= pause.end]
    return sum(one.duration for one in inside)


class PauseList(QWidget):
    """Lists them; one or some are made shorter by the slider or the buttons."""

    tighten_wanted = Signal(object, float)
    """Pauses, and the share of what each would save."""
    loosen_wanted = Signal(object)
    """Pauses that are to be as they were played."""
    went_to = Signal(float)
    """A pause was chosen; seconds of recording time."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pauses: tuple[Hesitation, ...] = ()
        self._arrangement = Arrangement()
        self.list = QListWidget()
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.list.setItemDelegate(Roomy(self.list))
        self.list.setFrameShape(QListWidget.Shape.NoFrame)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAccessibleName("Pauses longer than the music around them asks for")
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, MOST)
        self.slider.setPageStep(10)
        self.slider.setTickPosition(QSlider.TickPosition.TicksBelow)
        self.slider.setTickInterval(20)
        self.slider.setAccessibleName("How much of what it saves is taken out, in percent")
        self.slider.setTracking(False)
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.some = QPushButton("Tighten")
        self.some.setToolTip("Make the chosen pauses as short as the music around them suggests")
        self.every = QPushButton("Tighten all")
        self.back = QPushButton("As played")
        self.back.setToolTip("Give the chosen pauses, or all, the length back that they were played with")
        buttons = QGridLayout()
        for i, button in enumerate((self.some, self.every, self.back)):
            buttons.addWidget(button, 0, i)
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 2, 6, 6)
        column.setSpacing(4)
        column.addWidget(self.list, 1)
        column.addWidget(self.slider)
        column.addWidget(self.words)
        column.addLayout(buttons)
        self.list.selectionModel().selectionChanged.connect(self._chosen)
        self.list.itemClicked.connect(self._go)
        self.list.itemActivated.connect(self._go)
        self.slider.valueChanged.connect(self._slid)
        self.slider.sliderMoved.connect(self._say)
        self.some.clicked.connect(self._tighten)
        self.every.clicked.connect(self._tighten_all)
        self.back.clicked.connect(self._loosen)
        self.show_pauses((), Arrangement())

    @property
    def chosen(self) -> tuple[Hesitation, ...]:
        """Pauses that are selected in the list."""
        rows = sorted(self.list.row(item) for item in self.list.selectedItems())
        return tuple(self._pauses[row] for row in rows)

    def show_pauses(self, pauses: tuple[Hesitation, ...], arrangement: Arrangement) -> None:
        """Show other pauses, or what is taken out of them now."""
        rows = {self.list.row(item) for item in self.list.selectedItems()} if pauses == self._pauses else set()
        self._pauses, self._arrangement = pauses, arrangement
        blocked = QSignalBlocker(self.list)
        self.list.clear()
        for i, pause in enumerate(pauses):
            item = QListWidgetItem(self._row(pause))
            self.list.addItem(item)
            item.setSelected(i in rows)
        del blocked
        self.every.setEnabled(bool(pauses))
        self._chosen()

    def _row(self, pause: Hesitation) -> str:
        taken = taken_of(pause, self._arrangement)
        place = f"{clock(pause.start)}  bar {pause.bar}"
        if taken:
            return f"{place}  \N{CHECK MARK} {taken:.1f} s shorter"
        return f"{place}  saves {pause.saves:.1f} s"

    @Slot()
    def _chosen(self, _one: QItemSelection | None = None, _two: QItemSelection | None = None) -> None:
        chosen = self.chosen
        for widget in (self.slider, self.some):
            widget.setEnabled(bool(chosen))
        self.back.setEnabled(any(taken_of(pause, self._arrangement) for pause in chosen or self._pauses))
        blocked = QSignalBlocker(self.slider)
        shares = [taken_of(pause, self._arrangement) / pause.saves for pause in chosen]
        self.slider.setValue(round(100 * sum(shares) / len(shares)) if shares else 0)
        del blocked
        self._say(self.slider.value())

    @Slot(int)
    def _say(self, percent: int) -> None:
        chosen = self.chosen
        if not self._pauses:
            self.words.setText("No pause is longer than the music around it asks for.")
        elif len(chosen) == 1:
            length = chosen[0].end - chosen[0].start
            left = length - chosen[0].saves * percent / 100
            self.words.setText(
                f"{length:.1f} s as played, {left:.1f} s like this; {chosen[0].suggested:.1f} s suggested"
            )
        else:
            saved = sum(pause.saves for pause in chosen or self._pauses)
            what = f"{len(chosen)} pauses" if chosen else f"All {len(self._pauses)}"
            self.words.setText(f"{what} would save {saved:.1f} s")

    @Slot(int)
    def _slid(self, percent: int) -> None:
        if not self.chosen:
            return
        if percent:
            self.tighten_wanted.emit(self.chosen, percent / 100)
        else:
            self.loosen_wanted.emit(self.chosen)

    @Slot()
    def _tighten(self) -> None:
        self.tighten_wanted.emit(self.chosen, 1.0)

    @Slot()
    def _tighten_all(self) -> None:
        self.tighten_wanted.emit(self._pauses, 1.0)

    @Slot()
    def _loosen(self) -> None:
        self.loosen_wanted.emit(self.chosen or self._pauses)

    @Slot(QListWidgetItem)
    def _go(self, item: QListWidgetItem) -> None:
        self.went_to.emit(self._pauses[self.list.row(item)].start)
