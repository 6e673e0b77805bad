"""Sections begun, named, moved, joined and dressed; their bars and beats are left alone."""

import pytest

from core.bar_edits import HalveBars
from core.document import Document, Section
from core.edits import DressSection, MoveSection, NameSection, NameSections, RemoveSection
from core.errors import InputError
from core.metre import Metre, TimeSignature

DOCUMENT = Document(
    Metre.steady(TimeSignature(4, 4)), sections=(Section(1, "A"), Section(6, "B", 3), Section(8, "C"))
)


def test_sections():
    assert NameSection(3, "D").apply(DOCUMENT).sections[1] == Section(3, "D")
    assert RemoveSection(6).apply(DOCUMENT).sections == (Section(1, "A"), Section(8, "C"))


def test_a_look_stays_when_a_section_is_renamed_or_moved_or_its_bars_are_halved():
    assert NameSection(6, "D").apply(DOCUMENT).sections[1] == Section(6, "D", 3)
    assert MoveSection(6, 9).apply(DOCUMENT).sections[-1] == Section(9, "B", 3)
    assert Section(11, "B", 3) in HalveBars(1, None, ()).apply(DOCUMENT).sections


def test_a_look_is_chosen_and_given_back_to_the_name():
    dressed = DressSection(8, 5).apply(DOCUMENT)
    assert dressed.sections[-1] == Section(8, "C", 5)
    assert DressSection(8, None).apply(dressed) == DOCUMENT


def test_suggested_sections_are_taken_over_beside_those_that_have_a_name():
    suggested = (Section(1, "X"), Section(4, "Y"))
    after = NameSections(suggested).apply(DOCUMENT)
    assert after.sections == (Section(1, "A"), Section(4, "Y"), *DOCUMENT.sections[1:])
    with pytest.raises(InputError, match="there already"):
        NameSections(suggested).apply(after)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (NameSection(3, " "), "needs a name"),
        (NameSection(3, "x" * 121), "120 characters"),
        (RemoveSection(3), "No section"),
        (MoveSection(3, 4), "No section"),
        (MoveSection(6, 8), "Section C begins at bar 8"),
        (DressSection(3, 1), "No section"),
        (DressSection(6, 12), "no look 12"),
        (NameSections((Section(5, "A"), Section(9, "B", -1))), "no look -1"),
    ],
)
def test_sections_that_cannot_be(edit, words):
    with pytest.raises(InputError, match=words):
        edit.apply(DOCUMENT)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (NameSection(17, "Verse"), "Section Verse from bar 17"),
        (RemoveSection(17), "Section at bar 17 removed"),
        (MoveSection(17, 21), "Section moved from bar 17 to bar 21"),
        (DressSection(17, 2), "Section at bar 17 in another colour"),
        (NameSections(()), "Suggested sections taken over"),
    ],
)
def test_words(edit, words):
    assert edit.words == words
