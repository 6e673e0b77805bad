"""One take and what was done to it, without a word of Qt; the workspace alone holds one."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace

from app.history import History
from app.picture import Picture, Reading
from app.state import State, Sure
from core.arrangement import AS_PLAYED
from core.document import Document
from core.edits import Edit
from core.errors import InputError
from core.gestures import preview
from core.grid import Grid
from core.heard_take import check_heard
from core.onsets import Onsets
from core.pins import checked
from core.take import Take

GRIDS = 200
"""Grids of earlier documents that are kept, so that undo and redo show theirs at once."""


class Desk:
    """Where one take is worked on: `state` is replaced by each method that changes anything.

    Parameters
    ----------
    reading : Reading, optional
        What reads the picture of the take.
    take : Take, optional
        None for an empty window.
    resumes : History, optional
        Work on the take that is gone on with, instead of beginning with a proposal.
    """

    def __init__(
        self, reading: Reading | None = None, take: Take | None = None, resumes: History | None = None
    ) -> None:
        self.reading = reading
        self.resumes = resumes
        self.state = State(take=take)
        self.picture: Picture | None = None
        self.history: History | None = None
        self.fits = True
        """Whether the grid that is shown counts its bars as the document does."""
        self._grids: OrderedDict[Document, Grid] = OrderedDict()

    @property
    def unfinished(self) -> Take | None:
        """The take, while it has no bars yet."""
        return self.state.take if self.history is None else None

    def hear(self, onsets: Onsets) -> None:
        """Take in the onsets."""
        self.state = replace(self.state, onsets=onsets)

    def begin(self, document: Document, grid: Grid, sure: Sure | None) -> None:
        """Take in the first document."""
        self.history = History(document)
        self._keep(document, grid)
        self.state = replace(self.state, document=document, grid=grid, sure=sure)

    def resume(self, history: History, grid: Grid) -> None:
        """Take in work that was done before, and the bars that follow from it."""
        self.history = history
        self._keep(history.document, grid)
        self.state = replace(
            self.state, document=history.document, grid=grid, history=history.words, at=history.at
        )

    def do(self, edit: Edit) -> None:
        """Do an edit.

        Raises
        ------
        BarwrightError
            If it cannot be done; nothing has changed then.
        """
        if self.history is None or self.state.take is None:
            raise InputError("There are no bars to put right yet.")
        document = edit.apply(self.history.document)
        checked(document.pins, document.metre, self.state.take.duration)
        check_heard(self.state.take, document)
        if document != self.history.document:
            grid = self.state.grid
            shown = preview(grid, edit) if grid is not None and self.fits else None
            self._go_on(self.history.then(edit, document), shown)

    def go_to(self, at: int) -> None:
        """Undo or redo until so many edits are in force, as far as there are."""
        if self.history is not None and (there := self.history.going_to(at)).at != self.history.at:
            self._go_on(there, None)

    def suggested(self, document: Document, grid: Grid) -> None:
        """Take in the bars that follow from a document, be it the present one or not."""
        self._keep(document, grid)
        if self.state.document is not None and _counted(document) == _counted(self.state.document):
            self.fits = True
            if self.state.pending or grid != self.state.grid:
                self.state = replace(self.state, grid=grid, pending=False)

    def expect(self) -> None:
        """Newer suggestions are on their way."""
        if not self.state.pending:
            self.state = replace(self.state, pending=True)

    def settle(self) -> None:
        """No answer will come: what is shown stays."""
        if self.state.pending:
            self.state = replace(self.state, pending=False)

    def _go_on(self, history: History, shown: Grid | None) -> None:
        """Go to another document; `shown` is a grid that counts its bars as that does."""
        document, before = history.document, self.state.document
        known = self._grids.get(_counted(document))
        if known is not None:
            self._keep(document, known)
        elif self.fits and before is not None and _counted(document) == _counted(before):
            shown = self.state.grid
        self.history = history
        self.fits = known is not None or shown is not None
        self.state = replace(
            self.state,
            document=document,
            grid=known or shown or self.state.grid,
            pending=known is None,
            history=history.words,
            at=history.at,
        )

    def _keep(self, document: Document, grid: Grid) -> None:
        self._grids[_counted(document)] = grid
        self._grids.move_to_end(_counted(document))
        while len(self._grids) > GRIDS:
            self._grids.popitem(last=False)


def _counted(document: Document) -> Document:
    """What of a document its bars follow from: sections and taps have no say in them, nor what is heard."""
    return replace(document, sections=(), taps=(), arrangement=AS_PLAYED, repairs=())
