"""The panel at the right: what to look at first, what was done, the facts of the bar, what is heard."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.cutting.panel import CuttingPanel
from app.moment import Moment
from app.panels.done import Done
from app.panels.look_first import LookFirst
from app.panels.this_bar import ThisBar
from app.state import State

LEAST_HEIGHT = 620
"""Pixels all parts need together."""


def _titled(title: str, hint: str, content: QWidget) -> QWidget:
    """A part of the panel under its heading."""
    part = QWidget()
    heading = QLabel(title)
    font = heading.font()
    font.setBold(True)
    heading.setFont(font)
    heading.setContentsMargins(10, 8, 10, 2)
    heading.setToolTip(hint)
    heading.setBuddy(content)
    column = QVBoxLayout(part)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(2)
    column.addWidget(heading)
    column.addWidget(content, 1)
    return part


class SidePanel(QWidget):
    """Stacks the parts; their heights can be dragged.

    Parameters
    ----------
    cutting : CuttingPanel
        The part that tells what is heard.
    sections : QWidget
        The table of sections, a leaf beside it.
    """

    def __init__(self, cutting: CuttingPanel, sections: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumWidth(230)
        self.look_first = LookFirst()
        self.done = Done()
        self.this_bar = ThisBar()
        self.nothing_to_look_at = QLabel()
        self.nothing_to_look_at.setWordWrap(True)
        self.nothing_to_look_at.setContentsMargins(10, 4, 10, 4)
        self.nothing_to_look_at.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._look = QStackedWidget()
        self._look.addWidget(self.look_first)
        self._look.addWidget(self.nothing_to_look_at)
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.addWidget(
            _titled("Look first", "The least sure bar lines, the least sure first", self._look)
        )
        self.splitter.addWidget(_titled("What was done", "Click a step to return to it", self.done))
        self.splitter.addWidget(_titled("This bar", "The facts of the selected bar", self.this_bar))
        self.cutting, self.sections = cutting, sections
        cutting.addTab(sections, "Sections")
        cutting.setTabToolTip(cutting.indexOf(sections), "Sections with their bars, length and tempo")
        self.splitter.addWidget(cutting)
        for part, stretch in enumerate((4, 3, 0, 3)):
            self.splitter.setStretchFactor(part, stretch)
        self.splitter.setSizes([170, 130, 190, 230])
        self.splitter.setHandleWidth(5)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._scrolling())

    def _scrolling(self) -> QScrollArea:
        """The parts at a height they can be read at; a lower window scrolls them."""
        self.splitter.setMinimumHeight(LEAST_HEIGHT)
        area = QScrollArea()
        area.setWidget(self.splitter)
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return area

    def show_state(self, state: State, doubtful: int) -> None:
        """Show a state; `doubtful` is the length of the first list."""
        self.look_first.show_state(state, doubtful)
        self.done.show_state(state)
        if state.grid is None:
            words = "No take is open." if state.take is None else "The bars are being found."
        else:
            words = "Every bar line is placed. Nothing is left to look at."
        self.nothing_to_look_at.setText(words)
        self._look.setCurrentIndex(0 if self.look_first.lines.lines else 1)

    def show_selection(self, now: Moment, alternatives: tuple[float, ...]) -> None:
        """Show what is selected."""
        self.look_first.show_selection(now.places)
        self.this_bar.show_moment(now, alternatives)
