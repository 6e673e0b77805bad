"""A project's edits done again lead where they led, or it is said that they do not."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from core import project as module
from core.document import Document
from core.edits import NameSection, Place
from core.errors import InputError
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.project import Project, Reference, done_again
from tests.core.project_strategies import projects

REFERENCE = Reference("../takes/low-tide.mid", "0" * 64, 1)


def with_sections(count: int) -> Project:
    edits = tuple(NameSection(bar, f"part {bar}") for bar in range(1, count + 1))
    document = Document()
    for edit in edits:
        document = edit.apply(document)
    return Project(recording=REFERENCE, document=document, first=Document(), edits=edits, at=count)


@settings(max_examples=100, deadline=None)
@given(projects())
def test_every_edit_leads_where_it_led(project):
    led = done_again(project)
    assert led is not None
    assert len(led) == len(project.edits)
    assert (project.first, *led)[project.at] == project.document


def test_a_history_that_leads_elsewhere_is_none():
    project = with_sections(3)
    assert done_again(replace(project, document=Document())) is None
    # A bar without a number that can be: the edit refuses.
    assert done_again(replace(project, edits=(*project.edits, NameSection(10**6, "too far")))) is None


def test_a_history_that_would_take_too_long_is_none(monkeypatch):
    project = with_sections(2)
    assert done_again(project) is not None
    monkeypatch.setattr(module, "MOST_STEPS", -1)
    assert done_again(project) is None


def test_more_edits_in_force_than_there_are_are_refused():
    with pytest.raises(InputError, match="Of 0 edits 1 cannot be in force"):
        Project(recording=REFERENCE, document=Document(), first=Document(), edits=(), at=1)


def test_a_reference_names_its_file():
    assert REFERENCE.name == "low-tide.mid"
    assert Reference("low-tide.mid", "0" * 64, 1).name == "low-tide.mid"


def test_a_history_of_more_than_an_evening_is_not_done_again():
    # Each of these edits goes through all changes of metre; done twenty thousand times they would take an hour.
    metre = Metre(tuple((bar, TimeSignature(3 + bar % 2, 4)) for bar in range(1, 2001)))
    first = Document(metre=metre)
    edits = tuple(Place(Pin(2.0 + i, 1 + i)) for i in range(20_000))
    many = Project(recording=Reference("a.mid", "0" * 64, 1), document=first, first=first, edits=edits)
    assert done_again(many) is None
