"""A folder of takes handed over: each for itself, the bad ones named, the others done."""

import json
import shutil

import pytest

from app.cli import main
from app.map_folder import takes_in
from core.document import Document
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.project import Project
from core.project_file import write_project
from core.recording import refer
from tests.app.takes import play_audio, play_midi


@pytest.fixture(scope="module")
def takes(tmp_path_factory):
    """Two good takes and one that is none."""
    folder = tmp_path_factory.mktemp("takes")
    piano = play_midi(folder / "evening.mid", phrases=2)
    piano.pins(folder / "evening.pins.csv", 1, 2)
    play_audio(folder / "guitar.wav", phrases=1)
    (folder / "broken.wav").write_bytes(b"RIFF and no more")
    (folder / "notes.txt").write_text("not a take")
    (folder / ".hidden.mid").write_bytes(b"MThd")
    return folder


def run(capsys, *arguments):
    status = main([*map(str, arguments)])
    return status, capsys.readouterr()


def test_one_bad_take_does_not_stop_the_rest(takes, tmp_path, capsys):
    status, said = run(
        capsys, "map", takes, "--metre", "4/4", "--out", tmp_path / "out", "--jobs", "2", "--everything", "--json"
    )
    assert status == 2
    told = json.loads(said.out)
    assert (told["done"], told["failed"]) == (2, 1), said.err
    assert [take["take"].rpartition("/")[2] for take in told["takes"]] == [
        "broken.wav",
        "evening.mid",
        "guitar.wav",
    ]
    assert told["takes"][0]["failed"].startswith(str(takes / "broken.wav"))
    assert told["takes"][1]["placed"] == 2
    sounds = {"sound", "steady", "click", "report", "manifest"}
    assert sounds | {"notes", "steady-notes"} <= set(told["takes"][1]["files"])
    assert sounds <= set(told["takes"][2]["files"])
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["evening", "guitar"]
    assert (tmp_path / "out" / "guitar" / "guitar.take.wav").is_file()
    lines = said.err.splitlines()
    assert sum(line.startswith("barwright: broken.wav: ") for line in lines) == 1
    assert "3 of 3: " in said.err
    assert "Traceback" not in said.err


def test_the_summary_names_every_take(takes, tmp_path, capsys):
    for name in ("evening.mid", "evening.pins.csv"):
        shutil.copy(takes / name, tmp_path / name)
    status, said = run(capsys, "map", tmp_path, "--metre", "4/4", "--out", tmp_path / "out")
    assert status == 0
    assert said.out.splitlines()[0].startswith("evening.mid  9 bar lines, ")
    assert said.out.splitlines()[-1] == f"1 take of 1 written to {tmp_path / 'out'}."
    again, said = run(capsys, "map", tmp_path, "--metre", "4/4", "--out", tmp_path / "out", "--quiet")
    assert again == 2
    assert "exists already" in said.err


def test_a_recording_is_not_taken_twice_and_names_that_meet_are_told_apart(takes, tmp_path, capsys):
    for name in ("evening.mid", "guitar.wav"):
        shutil.copy(takes / name, tmp_path / name)
    shutil.copy(takes / "evening.mid", tmp_path / "guitar.mid")
    project = tmp_path / "work.barwright"
    document = Document(Metre.steady(TimeSignature(4, 4)), (Pin(1.0, 1), Pin(3.1326, 2)))
    recording = refer(tmp_path / "evening.mid", tmp_path)
    write_project(project, Project(recording=recording, document=document, first=document))
    assert [path.name for path in takes_in(tmp_path)] == ["guitar.mid", "guitar.wav", "work.barwright"]
    status, _ = run(capsys, "map", tmp_path, "--out", tmp_path / "out", "--quiet")
    assert status == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["guitar.mid", "guitar.wav", "work"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--jobs", "0"], "give --jobs 1 or more"),
        (["--name", "x"], "--name is about one take"),
        (["--section", "1:A"], "--section is about one take"),
        (["--hold", "3"], "--hold is about one take"),
    ],
)
def test_what_cannot_be_asked_of_a_folder_is_one_sentence(takes, tmp_path, capsys, arguments, words):
    status, said = run(capsys, "map", takes, "--out", tmp_path / "out", *arguments)
    assert status == 2
    assert words in said.err


def test_a_folder_without_takes_is_one_sentence(tmp_path, capsys):
    status, said = run(capsys, "map", tmp_path, "--out", tmp_path / "out")
    assert status == 2
    assert "holds no take" in said.err


def test_jobs_are_about_folders(takes, tmp_path, capsys):
    status, said = run(capsys, "map", takes / "evening.mid", "--out", tmp_path, "--jobs", "2")
    assert status == 2
    assert "--jobs is about a folder" in said.err
