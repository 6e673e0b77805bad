"""Sections on the command line: suggested from music whose form is known, as it is written down here."""

import csv
import json

import mido
import numpy as np
import pretty_midi
import pytest

from app.cli import main
from core.document import Document
from core.edits import NameSection, Place
from core.grid import Pin
from core.project import Project
from core.project_file import write_project
from core.recording import refer
from tests.app.takes import play_midi

FORM = (("A", 12), ("B", 10), ("A", 12))
LENGTH = 2.4
"""Seconds of a bar, and one more or less every second time."""


def bar_times():
    bars = sum(bars for _, bars in FORM)
    return 0.5 + np.concatenate(([0.0], np.cumsum(LENGTH + 0.05 * (-1.0) ** np.arange(bars))))


@pytest.fixture(scope="module")
def take(tmp_path_factory):
    """A take in three parts of which the last is the first again, and all its bar lines."""
    folder = tmp_path_factory.mktemp("takes")
    rng = np.random.default_rng(4)
    score = {name: rng.integers(45, 80, (bars, 4, 3)) for name, bars in FORM}
    times, played = bar_times(), pretty_midi.PrettyMIDI()
    piano = pretty_midi.Instrument(0)
    chords = np.concatenate([score[name] for name, _ in FORM])
    for begin, end, bar in zip(times[:-1], times[1:], chords, strict=True):
        for at, chord in zip(np.linspace(begin, end, 5), bar, strict=False):
            piano.notes += [pretty_midi.Note(70, int(pitch), float(at), float(at) + 0.7) for pitch in set(chord)]
    played.instruments.append(piano)
    played.write(str(folder / "dusk.mid"))
    pins = folder / "pins.csv"
    lines = [f"{time:.6f},{bar}\n" for bar, time in enumerate(times.tolist(), 1)]
    pins.write_text("time_s,bar\n" + "".join(lines), encoding="utf-8")
    return folder / "dusk.mid", "--metre", "4/4", "--pins", pins


def run(capsys, *arguments):
    """Run the command, and read the one object it prints."""
    assert main([*map(str, arguments), "--json", "--quiet"]) == 0
    return json.loads(capsys.readouterr().out)


def begins(told):
    return {row["bar"]: row["name"] for row in told["sections"]}


def test_what_is_heard_again_is_listed_with_bars_length_and_tempo(take, capsys):
    told = run(capsys, "sections", *take)
    assert begins(told) == {1: "A", 13: "B", 23: "A2"}
    times = bar_times()
    edges = times[[0, 12, 22, 34]]
    for row, length, bars in zip(told["sections"], np.diff(edges), (12, 10, 12), strict=True):
        assert (row["bars"], row["suggested"]) == (bars, True)
        assert row["length_s"] == pytest.approx(length, abs=1e-5)
        assert row["tempo_qpm"] == pytest.approx(240 * bars / length, abs=1e-3)
    spread = np.std(240 / np.diff(times[:13]))
    assert told["sections"][0]["spread_qpm"] == pytest.approx(spread, abs=1e-3)
    assert main(["sections", *map(str, take), "--quiet"]) == 0
    assert capsys.readouterr().out == ""
    assert main(["sections", *map(str, take)]) == 0
    words = capsys.readouterr().out.splitlines()
    assert words[0] == "A: 12 bars from bar 1, 0:29 long, 100.0 quarters a minute, give or take 2.1."


def test_they_are_handed_over_beside_those_that_are_named(take, tmp_path, capsys):
    out = tmp_path / "maps"
    told = run(capsys, "map", *take, "--section", "14:Bridge", "--suggest-sections", "--out", out)
    # The musician's own begins a bar away from what is suggested: that is where the part begins.
    assert begins(told) == {1: "A", 14: "Bridge", 23: "A2"}
    track = mido.MidiFile(out / "dusk.tempo-map.mid").tracks[0]
    assert [message.text for message in track if message.type == "marker"] == ["A", "Bridge", "A2"]
    with (out / "dusk.bars.csv").open(newline="", encoding="utf-8") as file:
        rows = {int(row["bar"]): row["section"] for row in csv.DictReader(file)}
    assert (rows[13], rows[14], rows[22], rows[23]) == ("A", "Bridge", "Bridge", "A2")
    assert main(["map", *map(str, take), "--suggest-sections", "--out", str(tmp_path / "more")]) == 0
    assert "A2: 12 bars from bar 23, 0:29 long" in capsys.readouterr().out


def test_they_go_with_the_music_where_less_is_heard_of_it(take, tmp_path, capsys):
    told = run(capsys, "map", *take, "--suggest-sections", "--leave-out", "b3-b6", "--out", tmp_path)
    assert begins(told) == {1: "A", 9: "B", 19: "A2"}
    assert [row["bars"] for row in told["sections"]] == [8, 10, 12]


def test_those_of_a_project_stay(take, tmp_path, capsys):
    times = bar_times()
    edits = [Place(Pin(time, bar)) for bar, time in enumerate(times.tolist(), 1)]
    edits.append(NameSection(23, "Home"))
    document = Document()
    for edit in edits:
        document = edit.apply(document)
    path = tmp_path / "dusk.barwright"
    about = refer(take[0], tmp_path)
    write_project(path, Project(recording=about, document=document, first=document, edits=(), at=0))
    told = run(capsys, "sections", path)
    assert begins(told) == {1: "Home 2", 13: "A", 23: "Home"}
    assert [row["suggested"] for row in told["sections"]] == [True, True, False]
    assert main(["sections", str(path)]) == 0
    assert capsys.readouterr().out.splitlines()[2].endswith(", named.")
    told = run(capsys, "map", path, "--suggest-sections", "--out", tmp_path / "maps")
    assert begins(told) == {1: "Home 2", 13: "A", 23: "Home"}
    told = run(capsys, "map", path, "--out", tmp_path / "plain")
    assert begins(told) == {23: "Home"}


def test_where_none_is_suggested_one_sentence_says_so(tmp_path, capsys):
    short = play_midi(tmp_path / "short.mid", phrases=2)
    asked = [str(short.path), "--metre", "4/4"]
    assert main(["sections", *asked]) == 0
    assert capsys.readouterr().out.startswith("No section is suggested: the take is too short")
    assert main(["map", *asked, "--suggest-sections", "--out", str(tmp_path / "maps"), "--quiet"]) == 0
    assert capsys.readouterr().err.startswith("Warning: No section is suggested")
