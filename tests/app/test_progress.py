"""Progress on a terminal and elsewhere."""

import io
import sys

import pytest

from app.progress import Progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


def run(stream, monkeypatch, *, quiet=False):
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(quiet=quiet) as progress:
        progress.stage("Listening")
        progress(0.25)
        progress.stage("Writing")
    return stream.getvalue()


def test_a_terminal_shows_the_share_in_place(monkeypatch):
    assert run(Terminal(), monkeypatch) == "Listening\rListening  25%\nWriting\n"


def test_an_error_after_a_stage_stands_on_a_line_of_its_own(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)

    def fail():
        with Progress(quiet=False) as progress:
            progress.stage("Listening")
            raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        fail()
    assert terminal.getvalue() == "Listening\n"


def test_elsewhere_each_stage_is_a_line(monkeypatch):
    assert run(io.StringIO(), monkeypatch) == "Listening\nWriting\n"


@pytest.mark.parametrize("stream", [Terminal, io.StringIO])
def test_quiet_is_silent(stream, monkeypatch):
    assert run(stream(), monkeypatch, quiet=True) == ""
