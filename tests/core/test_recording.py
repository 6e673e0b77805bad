"""A recording is known by its bytes: found again under another name, never mistaken for another."""

import hashlib
import os
import sys

import pytest

from core import recording
from core.errors import TakeError
from core.recording import find_recording, is_same, path_from, refer


@pytest.fixture
def take(tmp_path):
    folder = tmp_path / "takes"
    folder.mkdir()
    path = folder / "low-tide.mid"
    path.write_bytes(b"MThd" + bytes(range(256)) * 9)
    return path


def test_a_reference_is_the_way_there_the_hash_and_the_size(take, tmp_path):
    (tmp_path / "projects").mkdir()
    reference = refer(take, tmp_path / "projects")
    data = take.read_bytes()
    assert (reference.path, reference.size) == ("../takes/low-tide.mid", len(data))
    # NIST FIPS 180-4, by the standard library.
    assert reference.sha256 == hashlib.sha256(data).hexdigest()
    assert find_recording(reference, tmp_path / "projects").samefile(take)


def test_a_recording_moved_beside_the_project_is_found_under_any_name(take, tmp_path):
    reference = refer(take, tmp_path)
    moved = tmp_path / "renamed.mid"
    take.rename(moved)
    (tmp_path / "another.mid").write_bytes(b"x" * reference.size)
    (tmp_path / "folder").mkdir()
    assert find_recording(reference, tmp_path) == moved


@pytest.mark.parametrize("where", ["takes/new name.mid", "renamed.mid", "projects/old/renamed.mid"])
def test_it_is_found_where_it_was_around_the_project_and_inside(take, tmp_path, where):
    project = tmp_path / "projects"
    (project / "old").mkdir(parents=True)
    reference = refer(take, project)
    take.rename(tmp_path / where)
    assert find_recording(reference, project).samefile(tmp_path / where)


def test_no_more_is_looked_through_than_a_person_would(take, tmp_path, monkeypatch):
    reference = refer(take, tmp_path)
    take.rename(tmp_path / "zz.mid")
    (tmp_path / "aa.mid").write_bytes(b"")
    assert find_recording(reference, tmp_path) is not None
    monkeypatch.setattr(recording, "MOST", 1)
    assert find_recording(reference, tmp_path) is None


def test_a_folder_moved_as_a_whole_keeps_its_recording(take, tmp_path):
    project = tmp_path / "takes"
    reference = refer(take, project)
    project.rename(tmp_path / "elsewhere")
    assert find_recording(reference, tmp_path / "elsewhere") == tmp_path / "elsewhere" / "low-tide.mid"


def test_a_changed_recording_is_not_the_same(take, tmp_path):
    reference = refer(take, tmp_path)
    data = take.read_bytes()
    take.write_bytes(data[:-1] + b"?")
    assert find_recording(reference, tmp_path) is None
    take.write_bytes(data + b"?")
    assert find_recording(reference, tmp_path) is None
    take.write_bytes(data)
    assert is_same(take, reference)


def test_nothing_is_found_where_there_is_nothing(take, tmp_path):
    reference = refer(take, tmp_path)
    take.unlink()
    assert find_recording(reference, tmp_path) is None
    assert find_recording(reference, tmp_path / "none") is None


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no named pipes among files")
def test_a_pipe_in_the_way_is_never_read(take, tmp_path):
    reference = refer(take, tmp_path)
    take.unlink()
    os.mkfifo(take)
    os.mkfifo(tmp_path / "pipe")
    assert find_recording(reference, tmp_path) is None


def test_a_recording_that_cannot_be_read_is_one_sentence(tmp_path):
    with pytest.raises(TakeError, match="does not exist"):
        refer(tmp_path / "none.mid", tmp_path)


def test_the_way_is_written_alike_on_every_system(tmp_path):
    assert path_from(tmp_path / "a" / "b", tmp_path / "c" / "d.mid") == "../../c/d.mid"
    assert path_from(tmp_path, tmp_path / "d.mid") == "d.mid"


@pytest.mark.parametrize(
    "path",
    ["//far-away/a.wav", "\\\\far-away\\share\\a.wav", "/\\far-away/a.wav", "b/\\\\far-away\\a.wav"],
)
def test_another_machine_is_never_called(tmp_path, monkeypatch, path):
    reference = recording.Reference(path, "0" * 64, 5)
    asked = []
    monkeypatch.setattr(recording, "is_same", lambda path, _: asked.append(str(path)))
    assert find_recording(reference, tmp_path) is None
    assert not [path for path in asked if "far-away" in path and "b/" not in path]
    assert reference.name == "a.wav"
