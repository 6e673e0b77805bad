"""Sections on the command line: those that are named, and those that are to be suggested."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable

from app import arguments
from core.document import Document
from core.edits import NameSections
from core.grid import Grid
from core.onsets import Onsets
from core.propose_sections import beside, propose_sections

NONE_SUGGESTED = (
    "No section is suggested: the take is too short to be divided, or nothing in it is heard again or changes."
)


class Sectioning:
    """What was said of the sections of a take, read before the take is looked at.

    Raises
    ------
    InputError
        If a section has no bar or no name.
    """

    def __init__(self, given: Namespace) -> None:
        sections = [arguments.section(text) for text in getattr(given, "section", ())]
        self.named = tuple(sorted(sections, key=lambda section: section.bar))
        self._suggests = getattr(given, "suggest_sections", False)

    def divide(self, document: Document, onsets: Onsets, grid: Grid, warn: Callable[[str], object]) -> Document:
        """Take over what is suggested for a recording, if that was asked for; what has a name stays as it is."""
        if not self._suggests:
            return document
        suggested = beside(propose_sections(onsets, grid), document.sections)
        if not suggested:
            warn(NONE_SUGGESTED)
            return document
        return NameSections(suggested).apply(document)
