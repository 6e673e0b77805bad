"""Which metre holds from a bar on."""

from __future__ import annotations

from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QLineEdit, QPushButton, QWidget

from app.dialogs.ask import Ask
from core.errors import MetreError
from core.metre import TimeSignature

USUAL = ("4/4", "3/4", "2/4", "6/8", "12/8", "5/4", "2+2+3/8")


def written(signature: TimeSignature) -> str:
    """A time signature with the grouping of its beats, where it is not the usual one."""
    if signature == TimeSignature(signature.numerator, signature.denominator):
        return str(signature)
    return "+".join(map(str, signature.groups)) + f"/{signature.denominator}"


class MetreDialog(Ask):
    """Asks for a time signature and judges it while it is being typed."""

    def __init__(self, bar: int, before: TimeSignature, parent: QWidget | None = None) -> None:
        super().__init__(
            f"Metre from bar {bar} on",
            f"Which metre holds from bar {bar} until the next change? Beats of unequal length are "
            "written one by one: 2+2+3/8 has three beats, the last one longer.",
            parent,
        )
        self.signature = before
        self.field = QLineEdit(written(before))
        self.field.setAccessibleName("Time signature")
        self.field.selectAll()
        self.field.textChanged.connect(self._typed)
        usual = QWidget()
        row = QHBoxLayout(usual)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        self.usual = QButtonGroup(self)
        for text in USUAL:
            button = QPushButton(text)
            button.setAutoDefault(False)
            button.setToolTip(f"Take {text}")
            button.setMinimumWidth(button.fontMetrics().horizontalAdvance(text) + 20)
            self.usual.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        self.usual.buttonClicked.connect(self._chosen)
        self.add(self.field)
        self.add(usual)
        self.field.setFocus()
        self._typed(self.field.text())

    def _chosen(self, button: QPushButton) -> None:
        self.field.setText(button.text())
        self.field.setFocus()

    def _typed(self, text: str) -> None:
        try:
            self.signature = TimeSignature.parse(text)
        except MetreError as error:
            self.judge(str(error), good=False)
            return
        beats = self.signature.beats
        equal = len(set(self.signature.groups)) == 1
        lengths = "" if equal else ", of " + " + ".join(map(str, self.signature.groups))
        self.judge(
            f"{self.signature}: {beats} beat{'' if beats == 1 else 's'} in a bar{lengths}"
            f"{'' if equal else f' notes of 1/{self.signature.denominator}'}.",
            good=True,
        )
