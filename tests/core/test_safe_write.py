"""A file is whole or not there, whatever fails."""

import builtins
import errno
import os
import stat

import pytest

from core import safe_write as module
from core.errors import HandoverError
from core.safe_write import NewFile, refuse_existing, refuse_given, safe_write, sweep, write_together


def write(path, data=b"new", **choice):
    safe_write(path, data, **choice)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_the_check_sees_the_whole_file_before_it_is_in_its_place(tmp_path):
    path, seen = tmp_path / "map.mid", []
    write_together([NewFile(path, b"new", lambda beside: seen.append((beside.read_bytes(), path.exists())))])
    assert seen == [(b"new", False)]
    assert names(tmp_path) == ["map.mid"]
    assert path.read_bytes() == b"new"


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
        write_together([NewFile(path, b"new", lambda _: path.write_bytes(b"theirs"))])
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
        write_together([NewFile(tmp_path / "list.csv", b"new"), NewFile(tmp_path / "map.mid", b"new", fail)])
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

    def full(*_, **__):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    real = open
    if step == "open":
        monkeypatch.setattr(builtins, "open", full)
    else:
        monkeypatch.setattr(builtins, "open", lambda path, mode, opener: Faulty(real(path, mode), step))
    if step in ("fsync", "replace"):
        monkeypatch.setattr(module.os, step, full)
    with pytest.raises(HandoverError) as caught:
        safe_write(path, b"new", overwrite=True)
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
    def refuse(*_, **__):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(builtins, "open", refuse)
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


SET = ("take.mid", "bars.csv", "beats.csv")


def count_calls(monkeypatch, fail_at, number):
    """Count every step that touches the disk through one counter, and fail one of them once."""
    made = []

    def guard(step, real):
        def call(*arguments, **choice):
            made.append(step)
            if len(made) == fail_at:
                raise OSError(number, os.strerror(number))
            return real(*arguments, **choice)

        return call

    monkeypatch.setattr(builtins, "open", guard("open", open))
    for step in ("fsync", "link", "replace"):
        monkeypatch.setattr(module.os, step, guard(step, getattr(os, step)))
    # A copy stands in for a second name; here both fail, as on a disk that has become read-only.
    monkeypatch.setattr(module.shutil, "copy2", guard("copy", module.shutil.copy2))
    return made


# The same fault loop for a set: the Nth step fails for N = 1, 2, ... until all is written.
@pytest.mark.parametrize("old", [(), SET, SET[:1], SET[1:]])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.ENOENT])
def test_a_set_is_written_whole_or_nothing_has_changed(tmp_path, monkeypatch, old, number):
    before = {name: f"old {name}".encode() for name in old}
    for name, data in before.items():
        (tmp_path / name).write_bytes(data)
    files = [NewFile(tmp_path / name, f"new {name}".encode()) for name in SET]
    for fail_at in range(1, 40):
        with monkeypatch.context() as patch:
            made = count_calls(patch, fail_at, number)
            try:
                write_together(files, overwrite=True)
                failed = False
            except HandoverError:
                failed = True
        found = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
        if not failed and len(made) < fail_at:
            break
        if failed:
            assert found == before
        else:
            # Only a failing second name is got over, by a copy, and a folder that cannot be flushed.
            assert made[fail_at - 1] == "link" or "replace" not in made[fail_at - 1 :]
            for path in tmp_path.iterdir():
                path.unlink()
            for name, data in before.items():
                (tmp_path / name).write_bytes(data)
    else:
        pytest.fail("it never got through")
    assert found == {file.path.name: file.data for file in files}
    # Three are opened, flushed and moved; those before the last that replace another need a second name. The
    # folder is flushed once, where the system can.
    assert len(made) == 9 + (os.name != "nt") + len(set(old) & set(SET[:2]))


def test_a_disk_without_second_names_gets_a_copy(tmp_path, monkeypatch):
    def never(*_, **__):
        raise NotImplementedError

    for name in SET:
        (tmp_path / name).write_bytes(b"old")
    (tmp_path / "beats.csv").unlink()
    (tmp_path / "beats.csv").mkdir()
    monkeypatch.setattr(module.os, "link", never)
    with pytest.raises(HandoverError, match="that is a folder; give a file name"):
        write_together([NewFile(tmp_path / name, b"new") for name in SET], overwrite=True)
    assert names(tmp_path) == sorted(SET)
    assert [(tmp_path / name).read_bytes() for name in SET[:2]] == [b"old", b"old"]


def test_what_cannot_be_put_back_is_kept_and_named(tmp_path, monkeypatch):
    for name in SET:
        (tmp_path / name).write_bytes(b"old")
    real, made = os.replace, []

    def break_down(*paths):
        made.append(paths)
        if len(made) > 1:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(*paths)

    monkeypatch.setattr(module.os, "replace", break_down)
    with pytest.raises(HandoverError) as caught:
        write_together([NewFile(tmp_path / name, b"new") for name in SET], overwrite=True)
    (kept,) = [path for path in tmp_path.iterdir() if path.name not in SET]
    assert str(caught.value).endswith(f"take.mid is new already; as it was before it is now called {kept.name}.")
    assert kept.read_bytes() == b"old"
    assert [(tmp_path / name).read_bytes() for name in SET] == [b"new", b"old", b"old"]


def test_an_interruption_leaves_everything_as_it_was(tmp_path, monkeypatch):
    for name in SET[1:]:
        (tmp_path / name).write_bytes(b"old")
    real, made = os.replace, []

    def interrupt(*paths):
        made.append(paths)
        if len(made) == 3:
            raise KeyboardInterrupt
        real(*paths)

    monkeypatch.setattr(module.os, "replace", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_together([NewFile(tmp_path / name, b"new") for name in SET], overwrite=True)
    assert names(tmp_path) == sorted(SET[1:])
    assert [(tmp_path / name).read_bytes() for name in SET[1:]] == [b"old", b"old"]


def test_a_link_is_replaced_and_put_back_as_a_link(tmp_path):
    (tmp_path / "elsewhere.mid").write_bytes(b"theirs")
    (tmp_path / "take.mid").symlink_to("elsewhere.mid")
    (tmp_path / "bars.csv").mkdir()
    files = [NewFile(tmp_path / name, b"new") for name in SET[:2]]
    with pytest.raises(HandoverError, match="that is a folder"):
        write_together(files, overwrite=True)
    assert (tmp_path / "take.mid").is_symlink()
    (tmp_path / "bars.csv").rmdir()
    write_together(files, overwrite=True)
    assert not (tmp_path / "take.mid").is_symlink()
    assert (tmp_path / "elsewhere.mid").read_bytes() == b"theirs"


def test_what_was_given_is_never_written_over(tmp_path):
    (tmp_path / "take.mid").write_bytes(b"played")
    refuse_given([tmp_path / "other.mid"], [tmp_path / "take.mid"])
    with pytest.raises(HandoverError, match=r"take\.mid was given to be read and is never written over"):
        refuse_given([tmp_path / "bars.csv", tmp_path / "take.mid"], [tmp_path / "." / "take.mid"])


def test_what_a_write_ended_from_outside_left_is_swept_away_and_nothing_else(tmp_path):
    path = tmp_path / "evening.barwright"
    left = [".evening.barwright.0123abcd.part", ".evening.barwright.89abcdef.before"]
    others = [".evening.barwright.0123abcd.party", ".other.barwright.0123abcd.part", "evening.barwright~"]
    for name in (*left, *others):
        (tmp_path / name).write_bytes(b"")
    # While the file itself is not there, what it was before is not touched.
    sweep(path)
    assert names(tmp_path) == sorted((*left, *others))
    path.write_bytes(b"")
    sweep(path)
    assert names(tmp_path) == sorted((*others, path.name))


@pytest.mark.skipif(os.name == "nt", reason="Windows flushes no folders")
def test_the_name_of_a_new_file_is_flushed_too(tmp_path, monkeypatch):
    """After rename, fsync of the folder makes the new name durable (POSIX.1-2017 fsync, rationale; fsync(2))."""
    flushed, real = [], os.fsync

    def fsync(number):
        flushed.append(os.fstat(number).st_ino)
        real(number)

    monkeypatch.setattr(module.os, "fsync", fsync)
    write(tmp_path / "map.mid")
    assert flushed == [(tmp_path / "map.mid").stat().st_ino, tmp_path.stat().st_ino]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
@pytest.mark.parametrize("rights", [0o600, 0o640, 0o664])
def test_the_rights_of_what_is_replaced_stay_and_are_never_wider_on_the_way(tmp_path, rights):
    path, seen = tmp_path / "map.mid", []
    path.write_bytes(b"old")
    path.chmod(rights)

    def looking(file):
        seen.append(stat.S_IMODE(os.fstat(file.fileno()).st_mode))
        file.write(b"new")

    before = os.umask(0o022)
    try:
        write_together([NewFile(path, looking)], overwrite=True)
        write(tmp_path / "other.mid")
    finally:
        os.umask(before)
    assert seen == [0o600]
    assert stat.S_IMODE(path.stat().st_mode) == rights
    # What replaces nothing is as the user has chosen for new files (POSIX, umask).
    assert stat.S_IMODE((tmp_path / "other.mid").stat().st_mode) == 0o644


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
def test_a_copy_in_place_of_a_second_name_is_for_us_alone_while_it_is_made(tmp_path, monkeypatch):
    path, seen, real = tmp_path / "map.mid", [], module.shutil.copy2

    def never(*_, **__):
        raise NotImplementedError

    def copying(source, target, **choice):
        seen.append(stat.S_IMODE(target.stat().st_mode))
        return real(source, target, **choice)

    path.write_bytes(b"old")
    monkeypatch.setattr(module.os, "link", never)
    monkeypatch.setattr(module.shutil, "copy2", copying)
    write_together([NewFile(path, b"new"), NewFile(tmp_path / "bars.csv", b"new")], overwrite=True)
    assert seen == [0o600]
