"""Everything that was done to a take's document, one frozen value: undo and redo are another place in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.document import Document
from core.edits import Edit
from core.project import Project, done_again


@dataclass(frozen=True, slots=True)
class Entry:
    """One edit, what it is called, and the document it led to."""

    edit: Edit
    words: str
    document: Document


@dataclass(frozen=True, slots=True)
class History:
    """Edits in order, some of the last perhaps undone.

    Parameters
    ----------
    first : Document
        Before anything was done.
    entries : tuple of Entry
        Everything that was done, what was undone included.
    at : int
        How many of them are in force.
    """

    first: Document
    entries: tuple[Entry, ...] = ()
    at: int = 0

    @classmethod
    def of(cls, project: Project) -> History:
        """What was done before it was saved; only where that leads elsewhere by now, the document alone."""
        return cls.led(project, done_again(project))

    @classmethod
    def led(cls, project: Project, led: tuple[Document, ...] | None) -> History:
        """The same where it is known what each edit leads to; None where that cannot be."""
        if led is None:
            return cls(project.document)
        entries = (Entry(edit, edit.words, document) for edit, document in zip(project.edits, led, strict=True))
        return cls(project.first, tuple(entries), project.at)

    @property
    def document(self) -> Document:
        """The document now."""
        return self.entries[self.at - 1].document if self.at else self.first

    @property
    def words(self) -> tuple[str, ...]:
        """What was done, in words."""
        return tuple(entry.words for entry in self.entries)

    @property
    def edits(self) -> tuple[Edit, ...]:
        """The edits in force: applied in order to the first document they give the document now."""
        return tuple(entry.edit for entry in self.entries[: self.at])

    def then(self, edit: Edit, document: Document) -> History:
        """Do one thing more; what was undone is dropped."""
        entries = (*self.entries[: self.at], Entry(edit, edit.words, document))
        return replace(self, entries=entries, at=len(entries))

    def going_to(self, at: int) -> History:
        """Undo or do again until so many entries are in force; as far as there are."""
        return replace(self, at=min(max(at, 0), len(self.entries)))
