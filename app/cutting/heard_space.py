"""The work as it is heard, for lanes that show it and change nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from app.picture import Picture
from app.selection import Selection
from app.state import Message, Place, State
from app.workspace import Workspace
from core.document import Document
from core.edits import Edit
from core.errors import BarwrightError
from core.find_onsets import in_take_time
from core.grid import Grid
from core.heard_peaks import HeardPeaks
from core.heard_take import HeardTake, heard_take
from core.peaks import Peaks
from core.take import AudioTake, MidiTake

_ELSEWHERE = "This shows what is heard: bars are put right in the timeline, where the take is as it was played."


class HeardSpace(QObject):
    """Shows through an arrangement whatever a workspace shows; as a `Workspace` to the lanes of a timeline.

    It works nothing out while nobody looks.

    Parameters
    ----------
    workspace : Workspace
        Owns the work.
    """

    changed = Signal(object, object)
    selected = Signal(object)
    picture = Signal(object)
    """As those of `Workspace`."""
    message = Signal(object)
    """Why there is nothing to show, or nothing can be done here."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._shown: State | None = None
        self._looking = False
        self._selection = Selection()
        self.state = State()
        self.pictured: Picture | None = None
        self.heard: HeardTake | None = None
        """What is heard; None where nothing is known of it yet."""
        workspace.changed.connect(self._on_changed)
        workspace.picture.connect(self._on_picture)

    @property
    def selection(self) -> frozenset[Place]:
        """Places that are selected here."""
        return self._selection.places

    def look(self, *, looking: bool) -> None:
        """Say whether anybody looks."""
        self._looking = looking
        self._work_out()

    def select(self, places: Iterable[Place]) -> None:
        """Select places of what is heard, and only these."""
        if self._selection.choose(places, self.state.grid):
            self.selected.emit(self.selection)

    def do(self, _edit: Edit) -> None:
        """Change nothing here, and say so."""
        self.message.emit(Message(_ELSEWHERE))

    def attempt(self, _make: Callable[[Document, Grid], Edit]) -> None:
        """Change nothing here, and say so."""
        self.message.emit(Message(_ELSEWHERE))

    def _on_changed(self, _old: State, _new: State) -> None:
        self._work_out()

    def _on_picture(self, _picture: object) -> None:
        if self._looking:
            self._show_picture()

    def _work_out(self) -> None:
        now = self._workspace.state
        if not self._looking or now is self._shown:
            return
        before, self._shown = self._shown, now
        same = before is not None and self.heard is not None and _heard_of(before) == _heard_of(now)
        if same and before is not None and before.take is now.take and before.grid is now.grid:
            return
        old, self.heard = self.state, self._heard(now)
        self.state = _through(now, self.heard)
        fewer = self._selection.stay_in(self.state.grid)
        self._show_picture()
        self.changed.emit(old, self.state)
        if fewer:
            self.selected.emit(self.selection)

    def _heard(self, now: State) -> HeardTake | None:
        if now.take is None or now.document is None or now.grid is None:
            return None
        try:
            return heard_take(now.take, now.document, now.grid)
        except BarwrightError as error:
            self.message.emit(Message(" ".join(str(error).split()), warning=True))
            return None

    def _show_picture(self) -> None:
        heard, recorded = self.heard, self._workspace.pictured
        picture: Picture | None = None
        if heard is not None and isinstance(heard.take, MidiTake):
            picture = heard.take
        elif heard is not None and isinstance(heard.take, AudioTake) and isinstance(recorded, Peaks):
            picture = HeardPeaks.of(recorded, heard.passages, heard.take)
        if picture is not self.pictured:
            self.pictured = picture
            self.picture.emit(picture)


def _heard_of(state: State) -> tuple[object, ...]:
    document = state.document
    return (None,) if document is None else (replace(document, taps=()),)


def _through(now: State, heard: HeardTake | None) -> State:
    if heard is None:
        return State()
    onsets = None if now.onsets is None else in_take_time(now.onsets, heard.passages)
    return State(take=heard.take, onsets=onsets, document=heard.document, grid=heard.grid)
