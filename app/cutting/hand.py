"""Makes edits of what is heard: each method is a command of `app.actions`, and ends in one edit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, Slot

from app.moment import Moment
from app.pointer import Pointer
from app.state import Message
from app.workspace import Workspace
from core import cutting
from core.arrangement import Arrangement
from core.document import Document
from core.edits import Edit, KeepOnly, LeaveOut, MovePassage, Tighten
from core.errors import InputError
from core.grid import Grid
from core.hesitations import Hesitation, find_hesitations
from core.peaks import Peaks
from core.quiet_place import Loudness, NoteLevel, SoundLevel
from core.sampled import SampledSound
from core.take import MidiTake


class Cutting(QObject):
    """Turns the selection, and what is chosen in the lists, into edits.

    Parameters
    ----------
    workspace : Workspace
        Takes the edits.
    pointer : Pointer
        Knows the moment under the pointer.
    parent : QObject
    """

    def __init__(self, workspace: Workspace, pointer: Pointer, parent: QObject) -> None:
        super().__init__(parent)
        self._workspace, self._pointer = workspace, pointer
        self._found: tuple[object, tuple[Hesitation, ...]] = (None, ())
        self._level: tuple[object, Loudness | None] = (None, None)

    @property
    def pauses(self) -> tuple[Hesitation, ...]:
        """Hesitations of the take on screen, found once for its bars."""
        state = self._workspace.state
        if state.grid is None or state.onsets is None:
            return ()
        if self._found[0] is not state.grid:
            self._found = (state.grid, find_hesitations(state.onsets, state.grid))
        return self._found[1]

    # Passages

    def leave_out(self) -> None:
        """Leave the selected bars out."""
        self._cut(cutting.leave_out)

    def keep_only(self) -> None:
        """Keep the selected bars alone."""
        self._cut(cutting.keep_only)

    def bring_back(self) -> None:
        """Hear again what was left out of the selected bars, or all of it where nothing is selected."""

        def make(document: Document, grid: Grid, duration: float) -> Edit:
            chosen = Moment(self._workspace.state, self._workspace.selection).bars
            start, end = cutting.bars_around(grid, *chosen, duration) if chosen else (0.0, duration)
            return cutting.bring_back(start, end, duration)

        self._attempt(make)

    def divide_passage(self) -> None:
        """Divide the passage at the selected line, else under the pointer."""

        def make(document: Document, grid: Grid, duration: float) -> Edit:
            line = Moment(self._workspace.state, self._workspace.selection).line
            time = self._pointer.time() if line is None else line.time
            before = cutting.early(document.arrangement, grid)
            return cutting.divide(time, self._quiet(), duration, before=before)

        self._attempt(make)

    @Slot(int, int)
    def move_passage(self, place: int, to: int) -> None:
        """Hear a passage at another place of the order."""
        self._workspace.do(MovePassage(place, to))

    # Pauses

    def tighten_all(self) -> None:
        """Make all pauses as short as their neighbours suggest."""
        self.tighten(self.pauses)

    def loosen_all(self) -> None:
        """Give all pauses the length back that they were played with."""
        self.loosen(self.pauses)

    def tighten(self, pauses: Sequence[Hesitation], share: float = 1.0) -> None:
        """Take a share of what each would save out of some pauses."""
        self._attempt(lambda document, grid, duration: cutting.tighten(pauses, self._quiet(), share=share))

    def loosen(self, pauses: Sequence[Hesitation]) -> None:
        """Give some pauses the length back that they were played with."""
        self._attempt(lambda document, grid, duration: cutting.as_played(pauses))

    def set_length(self, pause: Hesitation, seconds: float) -> None:
        """Let a pause last so many seconds."""
        self._attempt(lambda document, grid, duration: self._lasting(pause, seconds))

    def with_length(self, pause: Hesitation, seconds: float) -> Arrangement | None:
        """What would be heard if a pause lasted so many seconds; None while that is not known."""
        document = self._workspace.state.document
        if document is None:
            return None
        try:
            return self._lasting(pause, seconds).apply(document).arrangement
        except InputError:
            return None

    def _lasting(self, pause: Hesitation, seconds: float) -> Tighten:
        return cutting.tighten((pause,), self._quiet(), length=seconds)

    def _cut(self, make: Callable[..., LeaveOut | KeepOnly]) -> None:
        def made(document: Document, grid: Grid, duration: float) -> Edit:
            chosen = Moment(self._workspace.state, self._workspace.selection).bars
            if chosen is None:
                raise InputError("No bar is selected: select the bars of a passage first.")
            before = cutting.early(document.arrangement, grid)
            return make(*cutting.bars_around(grid, *chosen, duration), self._quiet(), duration, before=before)

        self._attempt(made)

    def _attempt(self, make: Callable[[Document, Grid, float], Edit]) -> None:
        take = self._workspace.state.take
        if take is None:
            self._workspace.message.emit(Message("No take is open.", warning=True))
            return
        duration = take.duration
        self._workspace.attempt(lambda document, grid: make(document, grid, duration))

    def _quiet(self) -> Loudness:
        picture = self._workspace.pictured
        if self._level[0] is not picture or self._level[1] is None:
            if isinstance(picture, MidiTake):
                level: Loudness = NoteLevel(picture)
            elif isinstance(picture, Peaks) and picture.frames == picture.take.frames:
                level = SoundLevel(SampledSound(picture.take, picture.samples, picture.channels))
            else:
                raise InputError("The recording is still being read: try again in a moment.")
            self._level = (picture, level)
        assert self._level[1] is not None
        return self._level[1]
