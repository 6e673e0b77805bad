"""The page that hands a take over: what will be written, how exact it is, and the way into a sequencer."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QTimer, Signal, Slot
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.colours import colours_for
from app.failure import failure
from app.handover.choices import Choices
from app.handover.footer import Footer
from app.handover.form import SettingsForm
from app.handover.layout import lay_out
from app.handover.look import style_for
from app.handover.planning import Planning
from app.handover.sheet import Sheet
from app.handover.writing import Writing
from app.sound.piano_source import by_piano
from app.state import Message, State
from app.telling import count
from core.errors import BarwrightError
from core.plan_heard import plan_heard
from core.planned import Plan, Written
from core.take import MidiTake, Take

if TYPE_CHECKING:
    from app.workspace import Workspace

_FAULT = "Something went wrong inside Barwright; the details can be copied for a report."


class HandoverPage(QWidget):
    """Shows a plan of the hand-over, kept up to date with bars and settings, and writes it.

    Parameters
    ----------
    workspace : Workspace
        Whose take is handed over.
    """

    went_to = Signal(int)
    """A bar to be shown in the timeline; it is selected already."""

    planned = Signal(object)
    """A `Plan` has been worked out and is on the page."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._kept: dict[Path, dict[str, Any]] = {}
        self._take: Take | None = None
        self._folder = Path()
        self._write_next = False
        self._writing_for: Take | None = None
        self._last: tuple[Plan, Written] | None = None
        self._planning, self._writing = Planning(self), Writing(self)
        self._planning.due.connect(self._work_out)
        self._planning.planned.connect(self._planned)
        self._planning.failed.connect(self._plan_failed)
        self._writing.told.connect(self._told)
        self._writing.wrote.connect(self._wrote)
        self._writing.stopped.connect(self._stopped)
        self._writing.failed.connect(self._write_failed)

        self.form, self.sheet, self.footer = SettingsForm(), Sheet(), Footer()
        self.form.changed.connect(self._chosen)
        self.sheet.went_to.connect(self._go_to)
        self.sheet.said.connect(workspace.message)
        self.footer.write_wanted.connect(self._wanted)
        self.footer.replace_wanted.connect(self._replace)
        self.footer.stop_wanted.connect(self._writing.stop)
        self.stack, self._right = lay_out(self, self.form, self.sheet, self.footer)
        self.recolour()
        workspace.changed.connect(self._changed)
        self._begin(workspace.state)

    @property
    def settings(self) -> dict[str, Any]:
        """What is chosen for the take on the page, as plain values; empty without a take."""
        return dict(self._kept.get(self._take.path, {})) if self._take is not None else {}

    @settings.setter
    def settings(self, plain: Mapping[str, Any]) -> None:
        if self._take is not None:
            self._show_choices(Choices.kept(plain, self._take))
            self._replan()

    @property
    def plan(self) -> Plan | None:
        """The plan on the page; None while there is none or it is being worked out."""
        return self._planning.plan

    def stop(self) -> None:
        """End the timer and whatever is being worked out or written; for good, before the window goes."""
        self._planning.stop()
        self._writing.end()

    def recolour(self) -> None:
        """Take the colours of the app's palette, which has changed."""
        colours = colours_for(QApplication.palette())
        self._dark = colours.dark
        # A widget keeps the palette its style sheet was set under, so that goes first.
        self.setStyleSheet("")
        self.setStyleSheet(style_for(colours, self.font()))
        self.sheet.recolour(colours)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and colours_for(QApplication.palette()).dark != self._dark:
            self.recolour()

    def showEvent(self, event: QShowEvent) -> None:
        """Work out what was left while the page was hidden."""
        super().showEvent(event)
        self._planning.look(looking=True)

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks: leave it."""
        self._planning.look(looking=False)
        self.footer.withdraw()
        super().hideEvent(event)

    # From bars and settings to a plan.

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not self._take:
            self._begin(new)
        elif new.grid is not old.grid or new.pending != old.pending or new.document is not old.document:
            self._replan()
        self.stack.setCurrentIndex(0 if new.grid is None else 1)

    def _begin(self, state: State) -> None:
        """Begin with another take, and with what was chosen for it before."""
        self._take = state.take
        self._last = None
        self._write_next = False
        self._planning.forget()
        self.sheet.forget()
        self.stack.setCurrentIndex(0 if state.grid is None else 1)
        if self._take is not None:
            self._show_choices(Choices.kept(self._kept.get(self._take.path, {}), self._take))
        self._replan()

    def _show_choices(self, choices: Choices) -> None:
        midi = isinstance(self._take, MidiTake)
        self.form.show_choices(choices, has_notes=midi)
        if self._take is not None:
            self._kept[self._take.path] = choices.plain()

    @Slot()
    def _chosen(self) -> None:
        if self._take is not None:
            with suppress(BarwrightError):  # said when the plan is worked out; what could be used last is kept
                self._kept[self._take.path] = self.form.choices().plain()
        self._write_next = False
        self._replan()

    def _replan(self) -> None:
        self._planning.wish()
        self.footer.withdraw()

    @Slot()
    def _work_out(self) -> None:
        state = self._workspace.state
        if state.grid is None or state.document is None or self._take is None:
            return
        if state.pending:
            self.footer.say("The bars are being worked out.")
            return
        self.sheet.load_picture(colours_for(self.palette()))
        try:
            choices = self.form.choices()
        except BarwrightError as error:
            self._planning.give_up()
            self._refuse(str(error))
            return
        self._folder = choices.folder
        what = (self._take, state.document, state.grid, choices.settings)
        self._planning.make(partial(plan_heard, *what, instrument=by_piano))

    @Slot(object)
    def _planned(self, planned: Plan) -> None:
        self.planned.emit(planned)
        self._show_plan(planned)
        self.footer.say("")
        self.footer.write.setEnabled(not self._writing.busy)
        if self._write_next:
            self._wanted()

    @Slot(object)
    def _plan_failed(self, error: Exception) -> None:
        message = failure(error, _FAULT)
        if message.details:
            self._workspace.message.emit(message)
        self._refuse(message.text)

    def _show_plan(self, planned: Plan) -> None:
        before, written = self._last or (None, None)
        current = (
            before is not None
            and written is not None
            and before.files == planned.files
            and before.settings == planned.settings
            and written.map_path.parent == self._folder
        )
        self.sheet.show_plan(planned, written, current=current)

    def _refuse(self, sentence: str) -> None:
        """There is no plan, and this is why."""
        self._write_next = False
        self.sheet.refuse(sentence)
        self.footer.say("")
        self.footer.write.setEnabled(False)

    # From the plan to files.

    @Slot()
    def _wanted(self) -> None:
        """Write, as soon as the plan is that of what is on the page; ask first where files are in the way."""
        planned = self.plan
        self._write_next = planned is None
        if planned is None:
            return
        there = [file.name for file in planned.files if os.path.lexists(self._folder / file.name)]
        if there:
            self.footer.ask(there, self._folder)
        else:
            self._write(planned, overwrite=False)

    @Slot()
    def _replace(self) -> None:
        if self.plan is not None:
            self._write(self.plan, overwrite=True)

    def _write(self, planned: Plan, *, overwrite: bool) -> None:
        self._writing_for = self._take
        given = [] if self._take is None else [self._take.path]
        self.footer.write.setEnabled(False)
        self.footer.busy(writing=True)
        self.footer.say("Writing…")
        self._writing.write(planned, self._folder, given, overwrite=overwrite)

    @Slot(str, float)
    def _told(self, words: str, share: float) -> None:
        if self._writing.busy:
            self.footer.say(f"{words}: {share:.0%}")

    @Slot()
    def _stopped(self) -> None:
        self._at_rest()
        self.footer.say("Stopped; every file is as it was before.")

    def _at_rest(self) -> None:
        self.footer.busy(writing=False)
        self.footer.write.setEnabled(self._planning.last is not None)

    @Slot(object)
    def _wrote(self, answer: tuple[Plan, Written]) -> None:
        planned, written = answer
        number, folder = count(len(written.files), "file"), written.map_path.parent
        self._workspace.message.emit(Message(f"Wrote {number} to {folder}"))
        self._at_rest()
        if self._take is not self._writing_for:
            return
        self._last = answer
        self.footer.say(f"Wrote {number} to the folder “{folder.name}”.")
        self.sheet.result.show_written(planned, written)
        self.sheet.result.show()
        if (there := self._planning.last) is not None:
            self._show_plan(there)
        QTimer.singleShot(0, self._reveal_result)  # once the card has its place

    @Slot()
    def _reveal_result(self) -> None:
        self._right.ensureWidgetVisible(self.sheet.result)

    @Slot(object)
    def _write_failed(self, error: Exception) -> None:
        message = failure(error, _FAULT)
        self._at_rest()
        self.footer.say(message.text, warning=True)
        self._workspace.message.emit(message)

    @Slot(int)
    def _go_to(self, bar: int) -> None:
        self._workspace.select({(bar, 1)})
        self.went_to.emit(bar)
