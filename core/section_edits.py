"""Edits of sections: where they begin, their names and their looks."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.document import Document, Section
from core.errors import InputError
from core.numbering import LONGEST_NAME, valid


@dataclass(frozen=True, slots=True)
class NameSection:
    """Begin a section at a bar, or give the one that begins there another name.

    Parameters
    ----------
    bar : int
        Bar.
    name : str
        1 to 120 characters.
    """

    bar: int
    name: str

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Section {self.name} from bar {self.bar}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where the name is empty or too long."""
        if not self.name.strip():
            raise InputError("A section needs a name.")
        if len(self.name) > LONGEST_NAME:
            raise InputError(f"The name of a section can have {LONGEST_NAME} characters; make it shorter.")
        sections = _sections(document)
        look = sections[self.bar].look if self.bar in sections else None
        return _with_sections(document, {**sections, self.bar: Section(self.bar, self.name, look)})


@dataclass(frozen=True, slots=True)
class RemoveSection:
    """Let a section be part of the one before.

    Parameters
    ----------
    bar : int
        Bar it begins with.
    """

    bar: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Section at bar {self.bar} removed"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where no section begins there."""
        sections = _sections(document)
        if sections.pop(self.bar, None) is None:
            raise InputError(f"No section begins at bar {self.bar}.")
        return _with_sections(document, sections)


@dataclass(frozen=True, slots=True)
class MoveSection:
    """Let a section begin at another bar.

    Parameters
    ----------
    bar, to : int
        Bar it begins with, and the new one.
    """

    bar: int
    to: int

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Section moved from bar {self.bar} to bar {self.to}"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where there is none to move or another one begins there."""
        sections = _sections(document)
        if self.bar not in sections:
            raise InputError(f"No section begins at bar {self.bar}.")
        moved = sections.pop(self.bar)
        if self.to in sections:
            raise InputError(
                f"Section {sections[self.to].name} begins at bar {self.to}: move or remove that one first."
            )
        return _with_sections(document, {**sections, self.to: replace(moved, bar=self.to)})


@dataclass(frozen=True, slots=True)
class DressSection:
    """Give a section another colour and pattern.

    Parameters
    ----------
    bar : int
        Bar it begins with.
    look : int or None
        Number of the look; None: the one that goes with its name.
    """

    bar: int
    look: int | None

    @property
    def words(self) -> str:
        """What was done, for the history."""
        return f"Section at bar {self.bar} in another colour"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where no section begins there, or there is no such look."""
        sections = _sections(document)
        if self.bar not in sections:
            raise InputError(f"No section begins at bar {self.bar}.")
        return _with_sections(document, {**sections, self.bar: replace(sections[self.bar], look=self.look)})


@dataclass(frozen=True, slots=True)
class NameSections:
    """Take over sections that were suggested; those that begin where one has a name already give way to it.

    Parameters
    ----------
    sections : tuple of Section
        In order of bars.
    """

    sections: tuple[Section, ...]

    @property
    def words(self) -> str:
        """What was done, for the history."""
        if len(self.sections) == 1:
            return f"Suggested section {self.sections[0].name} taken over"
        return "Suggested sections taken over"

    def apply(self, document: Document) -> Document:
        """Document with the edit done; InputError where none of them is new."""
        suggested = {section.bar: section for section in self.sections}
        own = _sections(document)
        if set(suggested) <= set(own):
            raise InputError("All of these sections are there already.")
        return _with_sections(document, {**suggested, **own})


def _sections(document: Document) -> dict[int, Section]:
    return {section.bar: section for section in document.sections}


def _with_sections(document: Document, sections: dict[int, Section]) -> Document:
    return valid(replace(document, sections=tuple(sections[bar] for bar in sorted(sections))))
