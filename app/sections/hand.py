"""Suggests sections and turns what is chosen of them into edits: each method is a command of `app.actions`."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from PySide6.QtCore import QObject, Signal, Slot

from app.errands import Errands
from app.failure import failure
from app.state import Message, State
from app.telling import count
from app.workspace import Workspace
from core.document import Section
from core.edits import DressSection, NameSections
from core.gestures import name_section, remove_section
from core.propose_sections import beside, propose_sections

_FAULT = "Something went wrong while sections were looked for; the details can be copied for a report."


class Sections(QObject):
    """Holds what is suggested, and keeps it to the bars on screen.

    Parameters
    ----------
    workspace : Workspace
        Takes the edits.
    parent : QObject
    """

    suggested = Signal(object)
    """Other sections are suggested: a tuple of `Section`, empty for none."""

    def __init__(self, workspace: Workspace, parent: QObject) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._sections: tuple[Section, ...] = ()
        self._wanted = self._asked = False
        self._errands = Errands(self)
        self._errands.done.connect(self._found)
        self._errands.failed.connect(self._failed)
        workspace.changed.connect(self._changed)

    @property
    def sections(self) -> tuple[Section, ...]:
        """What is suggested and not in the document."""
        document = self._workspace.state.document
        return () if document is None else beside(self._sections, document.sections)

    # Commands

    def suggest_sections(self) -> None:
        """Look for what is heard again, and for where the music changes."""
        self._wanted = self._asked = True
        self._look()

    def take_over_sections(self) -> None:
        """Make sections of all suggestions."""
        self.take_over(section.bar for section in self.sections)

    def take_over_section(self) -> None:
        """Make a section of the suggestion that holds the selected bar."""
        bar = min((bar for bar, _ in self._workspace.selection), default=None)
        first = max((each.bar for each in self.sections if bar is not None and each.bar <= bar), default=None)
        if first is not None:
            self.take_over([first])

    def drop_sections(self) -> None:
        """Suggest none any more."""
        self._wanted = False
        self._errands.drop()
        self._show(())

    # From the table

    def take_over(self, bars: Iterable[int]) -> None:
        """Make sections of the suggestions that begin at some bars."""
        chosen = set(bars)
        sections = tuple(section for section in self.sections if section.bar in chosen)
        if sections:
            self._workspace.do(NameSections(sections))

    @Slot(int, str)
    def rename(self, bar: int, name: str) -> None:
        """Give the section that begins at a bar another name."""
        self._workspace.attempt(partial(name_section, bar=bar, name=name))

    @Slot(int, object)
    def dress(self, bar: int, look: int | None) -> None:
        """Give it another colour and pattern; None for those that go with its name."""
        self._workspace.do(DressSection(bar, look))

    @Slot(int)
    def merge(self, bar: int) -> None:
        """Let it be part of the section before."""
        self._workspace.attempt(partial(remove_section, bar=bar))

    def stop(self) -> None:
        """End what is being looked for; for good, before the window goes."""
        self._errands.stop()

    # From bars to suggestions

    def _look(self) -> None:
        state = self._workspace.state
        if state.grid is not None and state.onsets is not None:
            self._errands.ask(partial(propose_sections, state.onsets, state.grid))

    @Slot(object)
    def _found(self, sections: tuple[Section, ...]) -> None:
        if not sections:
            self._wanted = False
            words = "The take is too short to be divided, or nothing in it is heard again or changes."
            self._workspace.message.emit(Message(words))
        self._show(sections)
        if self._asked and self.sections:
            suggested = count(len(self.sections), "section is suggested", "sections are suggested")
            self._workspace.message.emit(Message(f"{suggested}: double click one to take it over."))
        self._asked = False

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        self._wanted = False
        self._workspace.message.emit(failure(error, _FAULT))

    def _show(self, sections: tuple[Section, ...]) -> None:
        if sections != self._sections:
            self._sections = sections
            self.suggested.emit(self.sections)

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self.drop_sections()
        elif self._wanted and new.grid is not old.grid:
            self._look()
        if self._sections and new.document is not old.document:
            # What has been taken over is no suggestion any more; when all has been, the work is done.
            if not self.sections:
                self.drop_sections()
            else:
                self.suggested.emit(self.sections)
