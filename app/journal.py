"""Writes down every gesture as it is made, so that a fall of the app or of the machine loses none."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from app.errands import Errands
from app.handover_page import HandoverPage
from app.history import History
from app.journal_file import Flusher, JournalFile
from app.saving import Saving
from app.state import Message, State
from app.workspace import Workspace
from core import journal
from core.journal import Record
from core.project import Project, Reference
from core.recording import refer
from core.take import Take


@dataclass(slots=True, eq=False)
class _Open:
    """The journal of one take: its file, None while there is nothing to lose, and what was written down last."""

    take: Take
    history: History
    choices: Mapping[str, Any]
    reference: Reference | None
    file: JournalFile | None = None
    steps: int = 0


class Journal(QObject):
    """Keeps a journal for as long as there is work that is not saved.

    Parameters
    ----------
    workspace, saving, hand_over : Workspace, Saving, HandoverPage
        Whose work it is.
    folder : Path
        Where journals lie.
    window : QWidget
        Lives as long.
    """

    _failed = Signal(object)

    def __init__(
        self, workspace: Workspace, saving: Saving, hand_over: HandoverPage, folder: Path, window: QWidget
    ) -> None:
        super().__init__(window)
        self._workspace, self._saving, self._hand_over = workspace, saving, hand_over
        self._folder = folder
        self._now: _Open | None = None
        self._expected: tuple[JournalFile, int, History] | None = None
        self._told = False
        self._wanted = True
        self._flusher = Flusher(self._flush_failed)
        self._errands = Errands(self)
        self._errands.done.connect(self._recognised)
        self._failed.connect(self._tell)
        workspace.changed.connect(self._changed)
        hand_over.form.changed.connect(self._write)
        saving.written.connect(self._saved)

    def expect(self, file: JournalFile, steps: int, history: History) -> None:
        """The take that is opened next goes on with the work of a journal from before."""
        if self._expected is not None and self._expected[0] is not file:
            self._expected[0].leave()
        self._expected = file, steps, history

    def forget(self) -> None:
        """The musician leaves without saving: nothing is to be offered again."""
        self._wanted = False

    def stop(self) -> None:
        """Close; what is not saved, and was not given up, is offered at the next start. For good."""
        self._errands.stop()
        if self._wanted and self._saving.unsaved and self._now is not None and self._now.file is not None:
            self._now.file.leave()
            self._now = None
        self._end()
        if self._expected is not None:
            self._expected[0].leave()
            self._expected = None
        self._flusher.stop()

    @Slot(object, object)
    def _changed(self, _: State, new: State) -> None:
        history = self._workspace.history
        if new.take is None:
            self._end()
        elif history is not None:
            # While a take has no bars yet, the one before may come back, and its journal is kept.
            if self._now is None or self._now.take is not new.take:
                self._begin(new.take, history)
            self._write()

    def _begin(self, take: Take, history: History) -> None:
        self._end()
        reference = self._saving.kept.reference
        self._now = now = _Open(take, history, self._hand_over.settings, reference)
        if self._expected is not None and self._expected[2] is history:
            now.file, now.steps, _ = self._expected
            self._expected = None
            self._anew(now)
        if reference is None:
            self._errands.ask(partial(_recognise, take))

    def _end(self) -> None:
        """The work on a take is saved, or was left knowingly."""
        if self._now is not None and self._now.file is not None:
            self._now.file.remove()
        self._now = None
        self._errands.drop()

    @Slot()
    def _write(self) -> None:
        """Write down what has been done since."""
        now, history, choices = self._now, self._workspace.history, self._hand_over.settings
        if now is None or history is None or self._workspace.state.take is not now.take:
            return
        records: list[Record] = []
        whole = False
        if history is not now.history:
            step = _step(now.history, history)
            whole = step is None
            records += [step] if step is not None else []
        if choices != now.choices:
            records.append(journal.chose(choices))
        if not records and not whole:
            return
        # Choices alone are no work on a take that was never saved.
        if now.file is None and history is now.history and not self._saving.unsaved:
            now.choices = choices
            return
        now.history, now.choices = history, choices
        now.steps += max(len(records), 1)
        self._put_down(now, records, whole=whole)

    def _put_down(self, now: _Open, records: list[Record], *, whole: bool) -> None:
        try:
            if now.file is None:
                now.file = JournalFile.new(self._folder)
            if whole or not now.file.begun or now.file.full:
                now.file.begin(self._kept(now))
            else:
                for record in records:
                    now.file.add(record)
        except OSError as error:
            self._tell(error)
        else:
            self._told = False
            self._flusher.flush(now.file)

    def _anew(self, now: _Open) -> None:
        """Begin its journal anew with the work as it is."""
        if now.file is not None:
            try:
                now.file.begin(self._kept(now))
            except OSError as error:
                self._tell(error)
            else:
                self._flusher.flush(now.file)

    def _kept(self, now: _Open) -> journal.Kept:
        path, history = now.take.path.absolute(), now.history
        known = now.reference
        sha256 = known.sha256 if known is not None else journal.UNKNOWN
        size = known.size if known is not None else 0
        if known is None:
            with suppress(OSError):
                size = path.stat().st_size
        kept = self._saving.kept
        return journal.Kept(
            work=Project(
                recording=Reference(str(path), sha256, max(size, 1)),
                document=history.document,
                first=history.first,
                edits=tuple(entry.edit for entry in history.entries),
                at=history.at,
            ),
            path=None if kept.path is None else str(kept.path),
            stamp=kept.stamp,
            choices=now.choices,
            steps=now.steps,
        )

    @Slot(object)
    def _saved(self, _: Path) -> None:
        """What is saved needs no journal; what was done while it was being saved does."""
        now = self._now
        if now is None or now.file is None:
            return
        if self._saving.unsaved:
            now.steps = 1
            self._anew(now)
        else:
            now.file.remove()
            now.file, now.steps = None, 0

    @Slot(object)
    def _recognised(self, answer: tuple[Take, Reference]) -> None:
        take, reference = answer
        now = self._now
        if now is not None and now.take is take and now.reference is None:
            now.reference = reference
            if now.file is not None and now.file.begun:
                with suppress(OSError):  # the next gesture will tell
                    now.file.add(journal.recognised(reference.sha256))

    def _flush_failed(self, error: OSError) -> None:
        with suppress(RuntimeError):  # the window may have gone
            self._failed.emit(error)

    @Slot(object)
    def _tell(self, error: OSError) -> None:
        """Say once that gestures cannot be kept, until one can be again."""
        if not self._told:
            self._told = True
            cause = error.strerror or str(error)
            sentence = f"What you do cannot be kept against a fall of the machine ({cause}): save your work now."
            self._workspace.message.emit(Message(sentence, warning=True))


def _step(before: History, after: History) -> Record | None:
    """The one step from a history to another; None where it is none that a line can say."""
    if after.first is before.first and after.entries is before.entries:
        return journal.went(after.at)
    at = before.at
    one_more = after.first is before.first and after.at == len(after.entries) == at + 1
    if one_more and (at == 0 or after.entries[at - 1] is before.entries[at - 1]):
        return journal.did(after.entries[at].edit)
    return None


def _recognise(take: Take) -> tuple[Take, Reference]:
    path = take.path.absolute()
    return take, refer(path, path.parent)
