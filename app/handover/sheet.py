"""What a plan comes to: its figures and cautions, its picture, its files, and the result once it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from app.colours import Colours
from app.handover.lists import CautionList, FileList
from app.handover.parts import prose
from app.handover.result import ResultCard
from app.telling import count, in_ms
from core.planned import Plan, Written

if TYPE_CHECKING:
    from app.handover.picture import FitPicture


EXACT = 0.5e-6
"""Seconds that are 0.000 ms in words."""


class Sheet(QWidget):
    """The wide column of the page, from top to bottom."""

    went_to = Signal(int)
    """A bar that is to be looked at."""
    said = Signal(object)
    """A `Message`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.picture: FitPicture | None = None
        self.summary = prose(role="heading")
        self.details = prose(role="help")
        self.problem = prose(role="warning")
        self.cautions = CautionList()
        self.files_title = prose(role="title")
        self.files = FileList()
        self.result = ResultCard()
        self._pane = QFrame()
        self._pane.setObjectName("pane")
        self._pane.setMinimumHeight(240)
        inside = QVBoxLayout(self._pane)
        inside.setContentsMargins(1, 1, 1, 1)

        column = QVBoxLayout(self)
        column.setContentsMargins(20, 16, 20, 16)
        column.setSpacing(6)
        for widget in (self.summary, self.details, self.problem, self.cautions):
            column.addWidget(widget)
        column.addSpacing(4)
        column.addWidget(self._pane, 1)
        column.addSpacing(6)
        column.addWidget(self.files_title)
        column.addWidget(self.files)
        column.addSpacing(6)
        column.addWidget(self.result)
        for hidden in (self.problem, self.cautions, self.result):
            hidden.hide()
        self.cautions.went_to.connect(self.went_to)
        self.result.said.connect(self.said)

    def load_picture(self, colours: Colours) -> None:
        """Make the picture, unless that has been done."""
        if self.picture is None:
            from app.handover.picture import FitPicture  # noqa: PLC0415 - the plotting library loads slowly

            self.picture = FitPicture(colours)
            self.picture.went_to.connect(self.went_to)
            layout = self._pane.layout()
            assert layout is not None
            layout.addWidget(self.picture)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self.cautions.recolour(colours)
        self.result.recolour(colours)
        if self.picture is not None:
            self.picture.recolour(colours)

    def show_plan(self, plan: Plan, written: Written | None, *, current: bool) -> None:
        """Show a plan.

        Parameters
        ----------
        plan : Plan
            What would be written now.
        written : Written or None
            What was written last.
        current : bool
            Whether just this plan was.
        """
        self.problem.hide()
        met = plan.worst < EXACT
        self.summary.setText(
            f"{count(len(plan.grid.bar_lines), 'bar line')}, {count(plan.tempi, 'tempo', 'tempi')}, "
            + (
                "every bar line met exactly"
                if met
                else f"bar {plan.worst_bar} is {in_ms(plan.worst)} off at worst"
            )
        )
        words = [plan.placing]
        if plan.note_rounding is not None:
            words.append(f"The notes go along, each within {in_ms(plan.note_rounding)} of where it was played.")
        self.details.setText(" ".join(words))
        self.details.show()
        self.cautions.show_cautions(plan.cautions)
        if self.picture is not None:
            self.picture.show_plan(plan)
            self.picture.setAccessibleDescription(self.summary.text())
        self.files_title.show()
        self.files_title.setText("What has been written" if current else "What will be written")
        self.files.show_files(plan.files, written.files if written is not None and current else ())
        self.result.mark_stale(written is not None and not current)

    def refuse(self, sentence: str) -> None:
        """Say why there is no plan."""
        self.summary.setText("This cannot be written yet")
        self.details.hide()
        self.problem.setText(sentence)
        self.problem.show()
        self.cautions.show_cautions(())
        self.files_title.hide()
        self.files.show_files(())
        self.result.mark_stale(True)

    def forget(self) -> None:
        """Begin with another take."""
        self.result.hide()


class EmptyNote(QWidget):
    """What the page says while there is nothing to hand over."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        title = prose("Nothing to hand over yet", role="heading")
        words = prose(
            "When a take has bars, this page writes them as files for your sequencer: a MIDI file that makes its "
            "bars run with the recording, and lists of the bar lines and beats."
        )
        words.setFixedWidth(460)
        for label in (title, words):
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(words)
        row.addStretch(1)
        middle = QVBoxLayout(self)
        middle.setSpacing(8)
        middle.addStretch(1)
        middle.addWidget(title)
        middle.addLayout(row)
        middle.addStretch(1)
