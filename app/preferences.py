"""What can be chosen: appearance, snapping, nudges, and every key."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QPushButton,
    QSpinBox,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.buttons import foot
from app.key_table import KeyTable
from app.settings import APPEARANCES, Preferences


class PreferencesDialog(QDialog):
    """Edits a copy; what was chosen counts once the dialog is accepted."""

    layout_forgotten = Signal()
    """The window is to lie as on the first day."""

    def __init__(
        self, preferences: Preferences, keys: dict[str, tuple[str, ...]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Preferences")
        self.resize(640, 520)
        self.appearance = QComboBox()
        for name, words in APPEARANCES.items():
            self.appearance.addItem(words, name)
        self.appearance.setCurrentIndex(list(APPEARANCES).index(preferences.appearance))
        self.snap = QCheckBox("A line that is moved or placed goes to a near onset (Alt: the other way)")
        self.snap.setChecked(preferences.snap)
        self.doubtful = self._number(preferences.doubtful, 5, 500, " lines")
        self.small = self._number(preferences.small, 1, 100, " ms")
        self.middle = self._number(preferences.middle, 1, 500, " ms")
        self.large = self._number(preferences.large, 1, 2000, " ms")
        self.output = QComboBox()
        self.output.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.output.setMinimumContentsLength(24)
        self._output = preferences.output
        self.show_outputs(())
        self.forget = QPushButton("Reset the window's layout")
        self.forget.setToolTip("Sizes, panel and page as on the first day")
        self.forget.setAutoDefault(False)
        self.forget.clicked.connect(self.layout_forgotten)
        general = QWidget()
        form = QFormLayout(general)
        form.setContentsMargins(16, 16, 16, 16)
        form.setVerticalSpacing(12)
        form.setHorizontalSpacing(18)
        form.addRow("&Appearance", self.appearance)
        form.addRow("Sna&p", self.snap)
        form.addRow("Look &first lists", self.doubtful)
        form.addRow("Nudge a &hair", self.small)
        form.addRow("Nudge a &little", self.middle)
        form.addRow("Nudge f&urther", self.large)
        form.addRow("Sound &output", self.output)
        form.addRow("Window", self._left(self.forget))
        self.keys = KeyTable(keys)
        tabs = QTabWidget()
        tabs.addTab(general, "&General")
        tabs.addTab(self.keys, "&Keys")
        buttons = foot(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(tabs, 1)
        column.addWidget(buttons)

    @property
    def chosen(self) -> Preferences:
        """What the fields say."""
        return Preferences(
            appearance=str(self.appearance.currentData()),
            snap=self.snap.isChecked(),
            doubtful=self.doubtful.value(),
            small=self.small.value(),
            middle=self.middle.value(),
            large=self.large.value(),
            output=str(self.output.currentData()),
        )

    def show_outputs(self, names: tuple[str, ...]) -> None:
        """Offer these outputs for sound; the one chosen stays, be it there or not."""
        chosen = self.output.currentData() if self.output.count() else self._output
        self.output.clear()
        self.output.addItem("The system's usual one", "")
        for name in names:
            self.output.addItem(name, name)
        if self.output.findData(chosen) < 0:
            self.output.addItem(f"{chosen} (not there now)", chosen)
        self.output.setCurrentIndex(self.output.findData(chosen))

    @staticmethod
    def _number(value: int, low: int, high: int, unit: str) -> QSpinBox:
        field = QSpinBox()
        field.setRange(low, high)
        field.setSuffix(unit)
        field.setValue(value)
        field.setMaximumWidth(140)
        return field

    @staticmethod
    def _left(widget: QWidget) -> QWidget:
        row = QWidget()
        layout = QHBoxLayout(row)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(widget)
        layout.addStretch(1)
        return row
