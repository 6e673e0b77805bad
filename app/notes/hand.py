"""Puts single notes right: what the layer tells, and the menu over it, become edits."""

from __future__ import annotations

from statistics import median

from PySide6.QtCore import QObject, QPoint, Signal, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from app.dialogs.velocity import VelocityDialog
from app.notes.layer import NoteLayer
from app.span import Span
from app.state import Message, State
from app.timeline.notes_picture import NotesPicture
from app.workspace import Workspace
from core.edits import Edit, MoveNotes, RemoveNotes, RestoreNotes, SetVelocities
from core.errors import BarwrightError
from core.repairs import LEVEL, levelled
from core.take import MidiTake

_NO_NOTES = "This take is sound; only the notes of a MIDI take can be put right."
_HINT = (
    "Click or draw a box to choose notes; drag or Left and Right move them, Up and Down change the velocity, "
    "Del removes them, Esc ends this."
)


class Notes(QObject):
    """Owns the layer, and whether notes are put right at all.

    Parameters
    ----------
    workspace : Workspace
        Takes the edits.
    lane : QWidget
        The main lane.
    span : Span
        What that shows.
    window : QWidget
        Over which menu and questions appear.
    """

    editing = Signal(bool)
    """Whether notes are put right now."""
    wanted = Signal()
    """The main lane is to be shown."""

    def __init__(self, workspace: Workspace, lane: QWidget, span: Span, window: QWidget) -> None:
        super().__init__(window)
        self._workspace, self._lane, self._window = workspace, lane, window
        self.layer = NoteLayer(lane, span)
        self._picture: tuple[MidiTake, NotesPicture] | None = None
        self._asked: tuple[tuple[int, ...], VelocityDialog] | None = None
        self.menu = QMenu(window)
        self.remove = self._entry("&Remove")
        self.velocity = self._entry("&Velocity…")
        self.level = self._entry("&Level out")
        self.restore = self._entry("As &played")
        self.remove.triggered.connect(self._remove)
        self.velocity.triggered.connect(self._ask_velocity)
        self.level.triggered.connect(self._level)
        self.restore.triggered.connect(self._restore)
        self.layer.move_wanted.connect(self._move)
        self.layer.remove_wanted.connect(self._remove)
        self.layer.louder_wanted.connect(self._strike)
        self.layer.menu_wanted.connect(self._show_menu)
        self.layer.left.connect(self._end)

    def _entry(self, text: str) -> QAction:
        action = QAction(text, self)
        self.menu.addAction(action)
        return action

    # Commands

    def edit_notes(self) -> None:
        """Begin to put notes right, or end it."""
        if self.layer.isHidden():
            self._begin()
        else:
            self._end()

    def all_notes_as_played(self) -> None:
        """Undo in one step all that was put right of notes."""
        document = self._workspace.state.document
        if document is not None and document.repairs:
            self._do(RestoreNotes(tuple(repair.note for repair in document.repairs)))
        else:
            self._workspace.message.emit(Message("All notes are as they were played."))

    # What is shown

    def show_state(self, state: State) -> None:
        """Show a state."""
        if self.layer.isHidden():
            return
        if isinstance(state.take, MidiTake) and state.document is not None:
            self._show(state.take, state)
        else:
            self._end()

    def _begin(self) -> None:
        state = self._workspace.state
        if not isinstance(state.take, MidiTake) or state.document is None:
            # The command stays as it was: not checked.
            self.editing.emit(False)
            self._workspace.message.emit(Message(_NO_NOTES if state.document else "The bars are not there yet."))
            return
        self.wanted.emit()
        self._show(state.take, state)
        self.layer.show()
        self.layer.raise_()
        self.layer.setFocus()
        self.editing.emit(True)
        self._workspace.message.emit(Message(_HINT))

    @Slot()
    def _end(self) -> None:
        self.layer.choose(frozenset())
        self.layer.hide()
        self._lane.setFocus()
        self.editing.emit(False)

    def _show(self, take: MidiTake, state: State) -> None:
        if self._picture is None or self._picture[0] is not take:
            self._picture = (take, NotesPicture(take))
        assert state.document is not None
        self.layer.show_notes(take, state.document.repairs, self._picture[1])

    # Edits

    @property
    def _chosen(self) -> tuple[int, ...]:
        return tuple(sorted(self.layer.chosen))

    def _velocities(self) -> dict[int, int]:
        places = self.layer.places
        return {} if places is None else {note: int(places.velocity[note]) for note in self._chosen}

    def _do(self, edit: Edit) -> None:
        self._workspace.do(edit)

    @Slot(float)
    def _move(self, seconds: float) -> None:
        self._do(MoveNotes(self._chosen, seconds))

    @Slot()
    def _remove(self) -> None:
        self._do(RemoveNotes(self._chosen))

    @Slot()
    def _restore(self) -> None:
        self._do(RestoreNotes(self._chosen))

    @Slot(int)
    def _strike(self, harder: int) -> None:
        wanted = {note: min(max(old + harder, 1), 127) for note, old in self._velocities().items()}
        self._do(SetVelocities(tuple(wanted.items())))

    @Slot()
    def _level(self) -> None:
        try:
            wanted = levelled(self._velocities(), LEVEL)
        except BarwrightError as error:
            self._workspace.message.emit(Message(str(error), warning=True))
        else:
            self._do(SetVelocities(tuple(wanted.items())))

    @Slot()
    def _ask_velocity(self) -> None:
        old = self._velocities()
        if old:
            dialog = VelocityDialog(round(median(old.values())), len(old), self._window)
            dialog.accepted.connect(self._velocity_chosen)
            self._asked = (self._chosen, dialog)
            dialog.open()

    @Slot()
    def _velocity_chosen(self) -> None:
        if self._asked is not None:
            notes, dialog = self._asked
            self._asked = None
            self._do(SetVelocities(tuple((note, dialog.field.value()) for note in notes)))

    @Slot(object)
    def _show_menu(self, place: object) -> None:
        chosen, places = self.layer.chosen, self.layer.places
        for action in (self.remove, self.velocity):
            action.setEnabled(bool(chosen))
        self.level.setEnabled(len(chosen) > 1)
        self.restore.setEnabled(places is not None and bool(chosen & places.changed.keys()))
        if isinstance(place, QPoint):
            self.menu.popup(place)
