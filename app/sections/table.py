"""The table of sections: bars, length, tempo and how much it varies; names and looks are changed in it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QSignalBlocker, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QAction, QPalette
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QStackedWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.colours import colours_for
from app.sayings import clock
from app.sections.looks import look_words, swatch
from app.sections.rows import Row
from app.sections.tree import COLUMNS, Tree
from core.section_looks import LOOKS

_NOTHING = (
    "No section is named yet. “Suggest” finds what is heard again and where the music changes; or select a bar "
    "line and name the section that begins there."
)
_NO_TAKE = "There are no bars yet."
_MERGE = "Merge with the one before"


class SectionTable(QWidget):
    """Shows rows and says what is wanted of them; it changes nothing itself."""

    went_to = Signal(int)
    """The bar of a chosen section."""
    rename_wanted = Signal(int, str)
    look_wanted = Signal(int, object)
    """Bar, and the number of a look or None for the usual one."""
    loop_wanted = Signal(int)
    merge_wanted = Signal(int)
    suggest_wanted = Signal()
    take_over_wanted = Signal(object)
    """Bars of suggestions."""
    drop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[Row, ...] = ()
        self._typed: tuple[int, str] | None = None
        # A name is told of while its editor closes: the rows must not be made anew before that is over.
        self._after = QTimer(self, singleShot=True, interval=0)
        self._after.timeout.connect(self._rename)
        self.tree = Tree()
        self.nothing = QLabel(_NO_TAKE)
        self.nothing.setWordWrap(True)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.nothing.setContentsMargins(4, 6, 4, 4)
        self._leaves = QStackedWidget()
        self._leaves.addWidget(self.nothing)
        self._leaves.addWidget(self.tree)
        self._make_buttons()
        self._connect()
        self.show_rows((), bars=False)

    def _make_buttons(self) -> None:
        self.loop, self.colour, self.suggest = QPushButton("Loop"), QPushButton("Colour"), QPushButton("Suggest")
        self.loop.setToolTip("Play the chosen section again and again")
        self.colour.setToolTip("Another colour and pattern for the chosen section")
        self.suggest.setToolTip("Suggest sections from what is heard again and where the music changes")
        self.some, self.every, self.drop = QPushButton("Take over"), QPushButton("All"), QPushButton("Drop")
        self.some.setToolTip("Make sections of the chosen suggestions")
        self.every.setToolTip("Make sections of all suggestions")
        self.drop.setToolTip("Suggest no sections any more; those that have a name stay")
        self.looks = QMenu(self)
        self._fill_looks()
        self.colour.setMenu(self.looks)
        self.menu = QMenu(self)
        self._rename_act, self._loop_act, self._merge_act, self._take_over_act = (
            self.menu.addAction(name) for name in ("Rename", "Loop", _MERGE, "Take over")
        )
        buttons = QHBoxLayout()
        buttons.setSpacing(4)
        for button in (self.loop, self.colour, self.suggest, self.some, self.every, self.drop):
            button.setMinimumWidth(40)
            buttons.addWidget(button, 1)
        column_ = QVBoxLayout(self)
        column_.setContentsMargins(6, 2, 6, 6)
        column_.setSpacing(4)
        column_.addWidget(self._leaves, 1)
        column_.addLayout(buttons)

    def _connect(self) -> None:
        self.tree.itemSelectionChanged.connect(self._judge)
        self.tree.itemClicked.connect(self._go)
        self.tree.itemActivated.connect(self._go)
        self.tree.itemChanged.connect(self._renamed)
        self.tree.customContextMenuRequested.connect(self._show_menu)
        self.loop.clicked.connect(self._loop)
        self.suggest.clicked.connect(self.suggest_wanted)
        self.some.clicked.connect(self._take_over)
        self.every.clicked.connect(self._take_over_all)
        self.drop.clicked.connect(self.drop_wanted)
        self.looks.triggered.connect(self._dress)
        self.tree.itemDoubleClicked.connect(self._double_clicked)
        self._rename_act.triggered.connect(self._edit)
        self._loop_act.triggered.connect(self._loop)
        self._merge_act.triggered.connect(self._merge)
        self._take_over_act.triggered.connect(self._take_over)
        self.tree.merge_wanted.connect(self._merge)

    def _fill_looks(self) -> None:
        self.looks.clear()
        usual = self.looks.addAction("As its name says")
        usual.setData(None)
        colours, ratio = colours_for(self.palette()), self.devicePixelRatioF()
        for look in range(LOOKS):
            action = QAction(swatch(look, colours, ratio), look_words(look), self.looks)
            action.setData(look)
            self.looks.addAction(action)

    def changeEvent(self, event: QEvent) -> None:
        """Take the colours of another palette."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._fill_looks()
            self._fill()

    # What is shown

    def show_rows(self, rows: tuple[Row, ...], *, bars: bool = True) -> None:
        """Show other rows; `bars` is whether there are any bars to be named."""
        self.nothing.setText(_NOTHING if bars else _NO_TAKE)
        self.suggest.setEnabled(bars)
        if rows != self._rows:
            self._rows = rows
            self._fill()
        self._leaves.setCurrentIndex(1 if rows else 0)
        suggested = any(row.suggested for row in rows)
        for button in (self.some, self.every, self.drop):
            button.setVisible(suggested)
        for button in (self.loop, self.colour, self.suggest):
            button.setVisible(not suggested)
        self._judge()

    def _fill(self) -> None:
        chosen = {row.facts.bar for row in self.chosen}
        colours, ratio = colours_for(self.palette()), self.devicePixelRatioF()
        with QSignalBlocker(self.tree):
            self.tree.clear()
            for row in self._rows:
                item = QTreeWidgetItem(_words(row))
                item.setData(0, Qt.ItemDataRole.UserRole, row)
                item.setIcon(0, swatch(row.facts.look, colours, ratio, suggested=row.suggested))
                item.setToolTip(0, _tip(row))
                for column in range(1, len(COLUMNS)):
                    item.setTextAlignment(column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                if row.suggested:
                    font = self.font()
                    font.setItalic(True)
                    for column in range(len(COLUMNS)):
                        item.setFont(column, font)
                        item.setForeground(column, self.palette().brush(QPalette.ColorRole.PlaceholderText))
                else:
                    item.setFlags(item.flags() | Qt.ItemFlag.ItemIsEditable)
                self.tree.addTopLevelItem(item)
                item.setSelected(row.facts.bar in chosen)

    @property
    def chosen(self) -> tuple[Row, ...]:
        """Rows that are selected, in order."""
        rows = (item.data(0, Qt.ItemDataRole.UserRole) for item in self.tree.selectedItems())
        return tuple(sorted(rows, key=lambda row: row.facts.bar))

    @property
    def _named(self) -> int | None:
        """Bar of the one section of the document that is chosen."""
        chosen = self.chosen
        return chosen[0].facts.bar if len(chosen) == 1 and not chosen[0].suggested else None

    @Slot()
    def _judge(self) -> None:
        one = self._named is not None
        for widget in (self.loop, self.colour):
            widget.setEnabled(one)
        for act in (self._rename_act, self._loop_act, self._merge_act):
            act.setVisible(one)
        first = min((row.facts.bar for row in self._rows if not row.suggested), default=None)
        self._merge_act.setText(_MERGE if self._named != first else "Remove")
        suggested = any(row.suggested for row in self.chosen)
        self.some.setEnabled(suggested)
        self._take_over_act.setVisible(suggested)

    # What is wanted

    @Slot(QTreeWidgetItem)
    def _go(self, item: QTreeWidgetItem) -> None:
        self.went_to.emit(item.data(0, Qt.ItemDataRole.UserRole).facts.bar)

    @Slot(QTreeWidgetItem)
    def _double_clicked(self, item: QTreeWidgetItem) -> None:
        row = item.data(0, Qt.ItemDataRole.UserRole)
        if row.suggested:
            self.take_over_wanted.emit([row.facts.bar])

    @Slot(QTreeWidgetItem, int)
    def _renamed(self, item: QTreeWidgetItem, _column: int) -> None:
        row = item.data(0, Qt.ItemDataRole.UserRole)
        name = item.text(0).strip()
        with QSignalBlocker(self.tree):
            item.setText(0, row.facts.name)  # until the document says otherwise
        if name != row.facts.name:
            self._typed = (row.facts.bar, name)
            self._after.start()

    @Slot()
    def _rename(self) -> None:
        typed, self._typed = self._typed, None
        if typed is not None:
            self.rename_wanted.emit(*typed)

    def stop(self) -> None:
        """Leave no timer behind."""
        self._after.stop()

    @Slot()
    def _edit(self) -> None:
        if self._named is not None:
            self.tree.editItem(self.tree.selectedItems()[0], 0)

    @Slot()
    def _loop(self) -> None:
        if self._named is not None:
            self.loop_wanted.emit(self._named)

    @Slot()
    def _merge(self) -> None:
        if self._named is not None:
            self.merge_wanted.emit(self._named)

    @Slot(QAction)
    def _dress(self, action: QAction) -> None:
        if self._named is not None:
            self.look_wanted.emit(self._named, action.data())

    @Slot()
    def _take_over(self) -> None:
        self.take_over_wanted.emit([row.facts.bar for row in self.chosen if row.suggested])

    @Slot()
    def _take_over_all(self) -> None:
        self.take_over_wanted.emit([row.facts.bar for row in self._rows if row.suggested])

    @Slot(QPoint)
    def _show_menu(self, place: QPoint) -> None:
        if self.tree.itemAt(place) is not None and any(act.isVisible() for act in self.menu.actions()):
            self.menu.popup(self.tree.viewport().mapToGlobal(place))


def _words(row: Row) -> list[str]:
    facts = row.facts
    return [facts.name, str(facts.bars), clock(facts.length), f"{facts.tempo:.0f}", f"{facts.spread:.0f}"]


def _tip(row: Row) -> str:
    facts = row.facts
    kind = "Suggested: " if row.suggested else ""
    return (
        f"{kind}{facts.name}, bars {facts.bar} to {facts.end - 1}, {facts.length:.1f} s, "
        f"{facts.tempo:.1f} quarters a minute, give or take {facts.spread:.1f}"
    )
