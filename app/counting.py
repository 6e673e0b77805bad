"""Says how bars are counted: pickup, metre, numbers and sections; each method is a command of `app.actions`."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.dialogs.metre import MetreDialog
from app.dialogs.name import NameDialog
from app.dialogs.number import NumberDialog
from app.moment import Moment
from app.pointer import Pointer
from app.state import Place
from app.workspace import Workspace
from core import gestures
from core.edits import Edit
from core.grid import Beat, Grid
from core.metre import TimeSignature
from core.section_names import names_again, new_name


class Counting(QObject):
    """Turns what is selected, and answers to questions, into edits of the count.

    Parameters
    ----------
    workspace : Workspace
        Takes the edits.
    pointer : Pointer
        Knows the moment under the pointer.
    window : QWidget
        Over which questions appear.
    """

    def __init__(self, workspace: Workspace, pointer: Pointer, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._pointer, self._window = workspace, pointer, window
        self._metre: tuple[int, MetreDialog] | None = None
        self._number: tuple[int, NumberDialog] | None = None
        self._name: tuple[int, NameDialog] | None = None

    @property
    def moment(self) -> Moment:
        """What is selected now."""
        return Moment(self._workspace.state, self._workspace.selection)

    def _attempt(self, make: Callable[..., Edit], *arguments: object) -> None:
        self._workspace.attempt(lambda document, grid: make(document, grid, *arguments))

    # Pickup and metre

    def pickup_here(self) -> None:
        """The pickup begins at the selected line, else at the beat nearest to the pointer."""
        grid = self._workspace.state.grid
        if grid is None or not grid.beats:
            return
        time = self._pointer.time()
        place = next(iter(self.moment.lines), None) or _nearest(grid, time)
        self._attempt(gestures.pickup, place)

    def no_pickup(self) -> None:
        """Bar 1 begins with the music."""
        self._attempt(gestures.pickup, None)

    def change_metre(self) -> None:
        """Ask which metre holds from the selected bar on."""
        bar, document = self.moment.bar, self._workspace.state.document
        if bar is not None and document is not None:
            dialog = MetreDialog(bar, document.metre.at(bar), self._window)
            dialog.accepted.connect(self._metre_chosen)
            self._metre = (bar, dialog)
            dialog.open()

    def change_metre_throughout(self, signature: TimeSignature) -> None:
        """Take a metre from the first bar on; where that is what was heard, it stays."""
        grid = self._workspace.state.grid
        if grid is not None and grid.bar_lines and grid.metre.at(1) != signature:
            self._attempt(gestures.change_metre, min(grid.bar_lines[0].bar, 1), signature)

    def ask_metre_throughout(self) -> None:
        """Ask which metre holds from the first bar on."""
        document = self._workspace.state.document
        if document is not None:
            dialog = MetreDialog(1, document.metre.at(1), self._window)
            dialog.accepted.connect(self._metre_chosen)
            self._metre = (1, dialog)
            dialog.open()

    def _metre_chosen(self) -> None:
        if self._metre is not None:
            bar, dialog = self._metre
            self._attempt(gestures.change_metre, bar, dialog.signature)

    # Numbers

    def renumber(self) -> None:
        """Ask which bar begins at the selected line."""
        bar = self.moment.bar
        if bar is not None:
            dialog = NumberDialog(bar, self._window)
            dialog.accepted.connect(self._number_chosen)
            self._number = (bar, dialog)
            dialog.open()

    def _number_chosen(self) -> None:
        if self._number is not None:
            bar, dialog = self._number
            self._attempt(gestures.renumber, bar, dialog.field.value())

    def count_from_here(self) -> None:
        """The selected bar is bar 1."""
        bar, document = self.moment.bar, self._workspace.state.document
        if bar is not None and document is not None:
            # Where nothing is placed yet there is no number that could be shifted: this line gets the first.
            self._attempt(gestures.count_from if document.pins else gestures.renumber, bar, 1)

    # Sections

    def name_section(self) -> None:
        """Ask for the name of a section that begins with the selected bar."""
        bar = self.moment.bar
        if bar is not None:
            self.ask_name(bar)

    def rename_section(self) -> None:
        """Ask for another name for the section that holds the selected bar."""
        bar = self.moment.section
        if bar is not None:
            self.ask_name(bar)

    def ask_name(self, bar: int) -> None:
        """Ask for the name of the section that begins with a bar."""
        document = self._workspace.state.document
        sections = document.sections if document is not None else ()
        before = next((section.name for section in sections if section.bar == bar), "")
        others = [section.name for section in sections if section.bar != bar]
        usual = before or new_name(others)
        dialog = NameDialog(bar, usual, before=before, again=names_again(others), parent=self._window)
        dialog.accepted.connect(self._name_chosen)
        self._name = (bar, dialog)
        dialog.open()

    def _name_chosen(self) -> None:
        if self._name is not None:
            bar, dialog = self._name
            self._attempt(gestures.name_section, bar, dialog.name)

    def remove_section(self) -> None:
        """The section that holds the selected bar is none."""
        bar = self.moment.section
        if bar is not None:
            self._attempt(gestures.remove_section, bar)


def _nearest(grid: Grid, time: float) -> Place:
    beat: Beat = min(grid.beats, key=lambda each: abs(each.time - time))
    return beat.bar, beat.beat
