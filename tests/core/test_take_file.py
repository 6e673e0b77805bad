import os
from pathlib import Path

import pytest

from core.errors import TakeError
from core.read_take import read_take
from core.take_file import kind_of
from tests.core.take_files import saved


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        (b"MThd\0\0\0\x06", "midi"),
        (b"RIFF\x10\0\0\0RMIDdata", "midi"),
        (b"RIFF\x10\0\0\0WAVEfmt ", "sound"),
        (b"\0\0\0\x1cftypM4A ", "aac"),
        (b"\0\0\0\x08wide\0\0", "aac"),
        (b"\xff\xf1\x50\x80", "aac"),
        (b"\xff\xf9\x50\x80", "aac"),
        # ISO/IEC 11172-3: layer III with and without a checksum, layer II.
        (b"\xff\xfb\x90\x44", "sound"),
        (b"\xff\xfa\x90\x44", "sound"),
        (b"\xff\xfd\x90\x44", "sound"),
        (b"fLaC", "sound"),
        (b"\xff", "sound"),
        (b"x", "sound"),
    ],
)
def test_the_first_bytes_tell(tmp_path, start, kind):
    assert kind_of(saved(tmp_path, start, "take.mid")) == kind


def says(path, words):
    with pytest.raises(TakeError, match=words) as caught:
        read_take(path)
    assert str(caught.value).startswith(str(path))
    assert str(caught.value).endswith(".")


def test_what_is_not_there(tmp_path):
    says(tmp_path / "none.wav", "does not exist: check the name")
    says(saved(tmp_path, b"x", "file") / "none.wav", "does not exist")
    says(tmp_path / "nu\0ll.wav", "does not exist")


def test_a_folder(tmp_path):
    says(tmp_path, "is a folder: name the MIDI or audio file in it")


def test_an_empty_file(tmp_path):
    says(saved(tmp_path, b"", "take.flac"), "is empty")


def test_a_name_that_is_too_long(tmp_path):
    says(tmp_path / ("a" * 300), "cannot be read")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_what_would_wait_for_ever(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    says(tmp_path / "pipe", "is a device")


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(13, "Permission denied"), "may not be read: allow reading it"),
        (OSError(5, "Input/output error"), r"cannot be read \(Input/output error\)"),
    ],
)
def test_what_the_system_does_not_let_be_read(tmp_path, monkeypatch, error, words):
    path = saved(tmp_path, b"MThd")

    def fail(*_args, **_kwargs):
        raise error

    monkeypatch.setattr(Path, "open", fail)
    says(path, words)
