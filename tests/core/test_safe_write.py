"""A file is whole or not there, whatever fails."""

import errno
import os

import pytest

from core import safe_write as module
from core.errors import HandoverError
from core.safe_write import refuse_existing, safe_write


def write(path, data=b"new", **choice):
    return safe_write(path, data, check=lambda file: file.read_bytes(), **choice)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_what_the_check_found_is_returned(tmp_path):
    assert write(tmp_path / "map.mid") == b"new"
    assert names(tmp_path) == ["map.mid"]


def test_an_existing_file_is_left_unless_told(tmp_path):
    path = tmp_path / "map.mid"
    path.write_bytes(b"old")
    with pytest.raises(HandoverError, match=r"map\.mid exists already and was left as it is; ask to overwrite it"):
        write(path)
    assert path.read_bytes() == b"old"
    write(path, overwrite=True)
    assert path.read_bytes() == b"new"
    assert names(tmp_path) == ["map.mid"]


def test_a_file_that_appears_meanwhile_is_left_too(tmp_path):
    path = tmp_path / "map.mid"
    with pytest.raises(HandoverError, match="exists already"):
        safe_write(path, b"new", check=lambda _: path.write_bytes(b"theirs"))
    assert path.read_bytes() == b"theirs"
    assert names(tmp_path) == ["map.mid"]


def test_a_set_is_refused_before_any_of_it_is_written(tmp_path):
    (tmp_path / "b.csv").touch()
    with pytest.raises(HandoverError, match=r"b\.csv exists already"):
        refuse_existing(tmp_path / "a.mid", tmp_path / "b.csv")


def test_a_failed_check_leaves_nothing(tmp_path):
    def fail(_):
        raise HandoverError("It does not read back.")

    with pytest.raises(HandoverError, match="does not read back"):
        safe_write(tmp_path / "map.mid", b"new", check=fail)
    assert names(tmp_path) == []


# The fault loop of SQLite's tests (sqlite.org/testing.html): fail each step that touches the disk in turn; the old
# file must stand after each failure.
STEPS = ("open", "write", "flush", "fsync", "replace")


class Faulty:
    """An open file that raises at one step."""

    def __init__(self, file, step):
        self.file, self.step = file, step

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, data):
        if self.step == "write":
            self.file.write(data[:1])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return self.file.write(data)

    def flush(self):
        if self.step == "flush":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self.file.flush()

    def fileno(self):
        return self.file.fileno()


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("old", [None, b"old"])
def test_a_full_disk_at_any_step_keeps_what_was_there(tmp_path, monkeypatch, step, old):
    path = tmp_path / "map.mid"
    if old:
        path.write_bytes(old)

    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    real = type(path).open
    if step == "open":
        monkeypatch.setattr(type(path), "open", full)
    else:
        monkeypatch.setattr(type(path), "open", lambda self, mode: Faulty(real(self, mode), step))
    if step in ("fsync", "replace"):
        monkeypatch.setattr(module.os, step, full)
    with pytest.raises(HandoverError) as caught:
        safe_write(path, b"new", check=lambda _: None, overwrite=True)
    monkeypatch.undo()
    assert str(caught.value) == f"{path} was not written: the disk is full; free some space and try again."
    assert names(tmp_path) == (["map.mid"] if old else [])
    if old:
        assert path.read_bytes() == old


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "writing is not allowed there; choose another folder"),
        (errno.EROFS, "the disk is read-only; choose another folder"),
        (errno.EIO, "Input/output error; choose another place"),
    ],
)
def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path, monkeypatch, number, words):
    def refuse(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(type(tmp_path), "open", refuse)
    with pytest.raises(HandoverError) as caught:
        write(tmp_path / "map.mid")
    assert str(caught.value) == f"{tmp_path / 'map.mid'} was not written: {words}."


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_without_permission_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(HandoverError, match="not allowed there"):
            write(tmp_path / "map.mid")
    finally:
        tmp_path.chmod(0o700)


def test_missing_folders_and_folders_in_the_way_are_named(tmp_path):
    with pytest.raises(HandoverError, match="its folder does not exist"):
        write(tmp_path / "none" / "map.mid")
    (tmp_path / "file").touch()
    with pytest.raises(HandoverError, match="its folder is not a folder"):
        write(tmp_path / "file" / "map.mid")
    (tmp_path / "folder").mkdir()
    with pytest.raises(HandoverError, match="that is a folder; give a file name"):
        write(tmp_path / "folder", overwrite=True)
    assert names(tmp_path) == ["file", "folder"]
