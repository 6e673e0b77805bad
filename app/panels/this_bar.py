"""The facts of the selected bar, and the other places its line could have."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.dialogs.metre import written
from app.moment import Moment
from app.panels.roomy import Roomy
from app.sayings import offset, sureness
from app.timeline.lines import lines_of
from app.timeline.words import moment, tempo_unit

FACTS = ("Bar", "Begins", "Length", "Tempo", "Metre", "Bar line")
NONE = "\N{EN DASH}"


def facts(now: Moment) -> dict[str, str]:
    """The facts of the selected bar by their names; empty if none is selected."""
    line, state = now.line, now.state
    if line is None or state.grid is None or state.document is None:
        return {}
    after = next((each for each in state.grid.bar_lines if each.bar == line.bar + 1), None)
    signature = state.document.metre.at(line.bar)
    length = None if after is None else after.time - line.time
    marks = [
        words
        for words, bars in (("held", state.document.holds), ("free", state.document.free))
        if line.bar in bars
    ]
    lines = lines_of(state.grid)
    # As the tempo lane counts it, so that both say the same.
    tempo = float(lines.tempo[int(lines.bar_number.searchsorted(line.bar))]) if length else 0.0
    number = str(line.bar) + (f" ({', '.join(marks)})" if marks else "")
    if len(now.lines) > 1:
        number += f", and {len(now.lines) - 1} more selected"
    return {
        "Bar": number,
        "Begins": moment(line.time),
        "Length": f"{length:.3f} s" if length else NONE,
        "Tempo": f"{tempo:.1f} {tempo_unit(lines)}" if length else NONE,
        "Metre": written(signature),
        "Bar line": sureness(line) if line.placed else f"{sureness(line)}, {round(100 * line.confidence)} of 100",
    }


class ThisBar(QWidget):
    """Labels for the facts, and a list of alternatives to click."""

    wanted = Signal(float)
    """An alternative, in seconds."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.values = {name: QLabel(NONE) for name in FACTS}
        self.nothing = QLabel()
        self.nothing.setWordWrap(True)
        self.form = QWidget()
        form = QFormLayout(self.form)
        form.setContentsMargins(10, 2, 10, 2)
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(4)
        self.names = []
        for name, value in self.values.items():
            label = QLabel(name)
            self.names.append(label)
            value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            value.setWordWrap(True)
            form.addRow(label, value)
        self.others = QLabel("Other places, the likelier first")
        self.others.setContentsMargins(10, 4, 10, 0)
        self.list = QListWidget()
        self.list.setAccessibleName("Other places for this bar line, the likelier first")
        self.list.setMaximumHeight(110)
        self.list.setFrameShape(QListWidget.Shape.NoFrame)
        self.list.setItemDelegate(Roomy(self.list))
        self.list.itemClicked.connect(self._chosen)
        self.list.itemActivated.connect(self._chosen)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        self.nothing.setContentsMargins(10, 4, 10, 4)
        for widget in (self.nothing, self.form, self.others, self.list):
            column.addWidget(widget)
        column.addStretch(1)

    def show_moment(self, now: Moment, alternatives: tuple[float, ...]) -> None:
        """Show the facts of the selected bar.

        Parameters
        ----------
        now : Moment
            What is selected.
        alternatives : tuple of float
            Other places of its bar line as first suggested, in seconds.
        """
        told = facts(now)
        before = "What lies before the first bar line has no length or tempo of its own."
        self.nothing.setText(before if now.lines else "Click a bar line to see its facts.")
        self.nothing.setVisible(not told)
        self.form.setVisible(bool(told))
        for name, value in told.items():
            self.values[name].setText(value)
        for widget in (self.others, self.list):
            widget.setVisible(bool(alternatives))
        self.list.clear()
        for time in alternatives:
            line = now.line
            apart = "" if line is None else "here now" if time == line.time else offset(time - line.time)
            item = QListWidgetItem(f"{moment(time)}    {apart}")
            item.setData(Qt.ItemDataRole.UserRole, time)
            item.setToolTip("Put the bar line here")
            self.list.addItem(item)

    def _chosen(self, item: QListWidgetItem) -> None:
        self.wanted.emit(item.data(Qt.ItemDataRole.UserRole))
