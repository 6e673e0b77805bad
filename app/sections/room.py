"""All parts of the window that have to do with sections, put together."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal, Slot

from app.sections.hand import Sections
from app.sections.rows import rows_of
from app.sections.table import SectionTable
from app.state import State
from app.timeline.section_lane import SectionLane
from app.workspace import Workspace
from core.document import Section


class SectionsRoom(QObject):
    """`hand` does the commands, `table` lists sections; what is suggested is in the lane too.

    Parameters
    ----------
    workspace : Workspace
        Owns the work.
    lane : SectionLane
        Shows sections over the timeline.
    parent : QObject
    """

    suggested = Signal()
    """Other sections are suggested, or none any more."""

    def __init__(self, workspace: Workspace, lane: SectionLane, parent: QObject) -> None:
        super().__init__(parent)
        self._workspace, self._lane = workspace, lane
        self.hand, self.table = Sections(workspace, self), SectionTable()
        self.hand.suggested.connect(self._suggested)
        self.table.rename_wanted.connect(self.hand.rename)
        self.table.look_wanted.connect(self.hand.dress)
        self.table.merge_wanted.connect(self.hand.merge)
        self.table.suggest_wanted.connect(self.hand.suggest_sections)
        self.table.take_over_wanted.connect(self.hand.take_over)
        self.table.drop_wanted.connect(self.hand.drop_sections)
        lane.take_over_wanted.connect(self._take_over)

    def show_state(self, state: State) -> None:
        """Show a state."""
        if state.grid is None or state.document is None or len(state.grid.bar_times) < 2:
            self.table.show_rows((), bars=False)
        else:
            self.table.show_rows(rows_of(state.grid, state.document.sections, self.hand.sections))

    def stop(self) -> None:
        """End what is being worked on."""
        self.hand.stop()
        self.table.stop()

    @Slot(object)
    def _suggested(self, sections: tuple[Section, ...]) -> None:
        self._lane.show_suggested(sections)
        self.show_state(self._workspace.state)
        self.suggested.emit()

    @Slot(int)
    def _take_over(self, bar: int) -> None:
        self.hand.take_over([bar])
