import csv
import json
from argparse import Namespace
from pathlib import Path

import numpy as np
import pretty_midi
import pytest

from app.arranging import Arranging, moment
from app.cli import main
from core.document import Document
from core.edits import LeaveOut
from core.errors import InputError
from core.passages import Passage
from core.project import Project
from core.project_file import write_project
from core.read_take import read_take
from core.recording import refer

EXAMPLES = Path(__file__).parents[2] / "examples"
LOW_TIDE = (
    *(EXAMPLES / "low-tide.mid", "--metre", "4/4,72:3/4,144:4/4", "--pickup", 1),
    *("--pins", EXAMPLES / "low-tide.pins.csv", "--quiet"),
)


def run(*arguments):
    return main([str(argument) for argument in arguments])


def lines(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def truth(name):
    with (EXAMPLES / f"low-tide.{name}.csv").open(newline="") as file:
        return [
            {key: float(text) for key, text in row.items() if key != "time_signature"}
            for row in csv.DictReader(file)
        ]


def notes(path):
    """Pitch and start of the notes as another library reads them, pitch by pitch."""
    return sorted((n.pitch, n.start) for i in pretty_midi.PrettyMIDI(str(path)).instruments for n in i.notes)


@pytest.fixture(scope="module")
def tightened(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tightened")
    assert run("map", *LOW_TIDE, "--tighten", "all", "--notes", "--out", folder) == 0
    return folder


def test_the_pauses_of_the_example_are_listed(capsys):
    """The truth is that of the code that played it."""
    assert run("pauses", *LOW_TIDE, "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert [round(pause["start_s"], 1) for pause in told["pauses"]] == [
        round(row["start_s"], 1) for row in truth("pauses")
    ]
    assert told["saves_s"] == pytest.approx(sum(row["saved_s"] for row in truth("pauses")), rel=0.12)


def test_without_its_pauses_the_bars_of_the_example_are_still_where_they_are_heard(tightened):
    """A bar line of the truth comes earlier by all that was taken out before it, within 10 ms; what was taken out
    is read from the notes of the written file, which another library reads."""
    heard = notes(tightened / "low-tide.tempo-map.mid")
    played = notes(EXAMPLES / "low-tide.mid")
    assert [pitch for pitch, _ in heard] == [pitch for pitch, _ in played]
    lead = min(start for _, start in heard) - min(start for _, start in played)
    shift = np.array([before - (after - lead) for (_, before), (_, after) in zip(played, heard, strict=True)])
    starts = np.array([start for _, start in played])
    bars = lines(tightened / "low-tide.bars.csv")
    assert len(bars) == len(truth("bars"))
    for row, true in zip(bars, truth("bars"), strict=True):
        earlier = shift[np.argmin(np.abs(starts - true["time_s"]))]
        assert float(row["time_s"]) == pytest.approx(true["time_s"] - earlier, abs=0.010)


def test_passages_are_kept_in_the_order_given(tmp_path):
    given = ("--keep", "b40-b47", "--keep", "b1-b8", "--leave-out", "b44-b45", "--notes")
    assert run("map", *LOW_TIDE, *given, "--out", tmp_path) == 0
    bars = lines(tmp_path / "low-tide.bars.csv")
    true = {int(row["bar"]): row["time_s"] for row in truth("bars")}
    wanted = [*range(40, 44), 46, 47, *range(1, 9)]
    assert len(bars) == len(wanted) + 1
    for i in range(len(wanted)):
        length = float(bars[i + 1]["time_s"]) - float(bars[i]["time_s"])
        assert length == pytest.approx(true[wanted[i] + 1] - true[wanted[i]], abs=0.010)


def test_a_project_is_handed_over_as_it_is_heard(tmp_path):
    recording = tmp_path / "low-tide.mid"
    recording.write_bytes((EXAMPLES / "low-tide.mid").read_bytes())
    duration = read_take(recording).duration
    document = LeaveOut(Passage(60.0, duration), duration).apply(Document())
    project = Project(recording=refer(recording, tmp_path), document=document, first=document)
    write_project(tmp_path / "work.barwright", project)
    assert run("map", tmp_path / "work.barwright", "--out", tmp_path / "maps", "--quiet") == 0
    bars = lines(tmp_path / "maps" / "low-tide.bars.csv")
    assert 55.0 < float(bars[-1]["time_s"]) < 65.0
    # What is left out on the command line is left out of that.
    given = ("--leave-out", "b3-b6", "--out", tmp_path / "less", "--quiet")
    assert run("map", tmp_path / "work.barwright", *given) == 0
    less = lines(tmp_path / "less" / "low-tide.bars.csv")
    assert len(less) == len(bars) - 4


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (("--tighten", "0:10"), "No pause"),
        (("--tighten", "soon"), "no moment"),
        (("--pause", "1"), "--tighten"),
        (("--leave-out", "0:10"), "no passage"),
        (("--leave-out", "b3-0:10"), "no passage"),
        (("--keep", "b300-b310"), "no bars 300 to 310"),
        (("--keep", "0:10-0:30", "--keep", "0:20-0:40"), "heard twice"),
        (("--leave-out", "0-9999"), "Nothing of the take"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(options, named, tmp_path, capsys):
    assert run("map", *LOW_TIDE, *options, "--out", tmp_path) == 2
    said = capsys.readouterr().err.strip()
    assert named in said
    assert said.count("\n") == 0
    assert not list(tmp_path.iterdir())


def test_moments_are_seconds_or_minutes():
    assert moment("83.5") == moment("1:23.5") == 83.5
    for text in ("", "x", "-1", "1:2:3", "nan"):
        with pytest.raises(InputError):
            moment(text)


def test_a_command_without_these_options_says_nothing():
    assert not Arranging(Namespace()).said
