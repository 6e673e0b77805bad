"""A project of a newer version is shown as far as it is known here, and never written over."""

import json

import pytest

from core.errors import HandoverError, InputError
from core.project import Newer, done_again
from core.project_codec import VERSION, from_bytes, to_bytes
from core.project_file import read_project, write_project
from tests.core.test_project_file import with_taps


def newer(**changed):
    """Return the project as some later version might write it."""
    whole = json.loads(to_bytes(with_taps()))
    whole["version"] = VERSION + 7
    whole["colour_of_tape"] = "red"
    whole["document"]["swing"] = [0.6, 0.4]
    whole["document"]["pins"][0]["by"] = "ear"
    whole["handover"]["settings"]["staves"] = 2
    whole.update(changed)
    return whole


def read(whole):
    return from_bytes(json.dumps(whole).encode())


def test_what_is_known_is_read_and_the_rest_is_named():
    project, ours = read(newer()), with_taps()
    assert project.newer == Newer(VERSION + 7, ("“colour of tape”", "“swing”", "“by”", "“staves”"))
    assert project.document == ours.document
    assert project.settings == ours.settings
    assert (project.edits, project.at) == (ours.edits, ours.at)
    assert done_again(project) is not None


def test_a_higher_number_alone_loses_nothing():
    whole = json.loads(to_bytes(with_taps())) | {"version": VERSION + 1}
    assert read(whole).newer == Newer(VERSION + 1)


@pytest.mark.parametrize(
    "edit", [{"edit": "stretch_bar", "bar": 3}, {"edit": "drop_taps", "which": 2}, {"edit": []}, 7]
)
def test_a_step_that_is_not_known_leaves_out_the_steps_and_keeps_what_they_led_to(edit):
    whole = newer()
    whole["history"]["edits"].append(edit)
    project = read(whole)
    assert project.edits == ()
    assert project.document == with_taps().document
    assert "the steps that led to it" in project.newer.left_out


def test_what_has_gone_since_is_as_it_was_before_anybody_could_say_it():
    whole = newer()
    del whole["document"]["taps"]
    del whole["handover"]
    project = read(whole)
    assert project.document.taps == ()
    assert project.settings is None


@pytest.mark.parametrize(
    "change", [{"document": []}, {"recording": None}, {"document": {"metre": "free"}}, {"handover": 3}]
)
def test_what_cannot_be_shown_asks_for_a_newer_barwright(change):
    with pytest.raises(InputError, match=r"saved by a newer Barwright .*: update this one"):
        read(newer(**change))


def test_it_is_never_written_over_and_another_name_is_fine(tmp_path):
    path = tmp_path / "evening.barwright"
    path.write_bytes(json.dumps(newer()).encode())
    before = path.read_bytes()
    project, _ = read_project(path)
    with pytest.raises(HandoverError, match="saved by a newer Barwright"):
        write_project(path, project)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == [path.name]
    write_project(tmp_path / "mine.barwright", project)
    mine, _ = read_project(tmp_path / "mine.barwright")
    assert mine.newer is None
    assert mine.document == project.document
