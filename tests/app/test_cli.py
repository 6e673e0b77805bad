"""The whole job by the front door: arguments in, files, words and an exit status out."""

import csv
import errno
import json
import os
import shlex
import subprocess
import sys
from importlib.metadata import distributions
from pathlib import Path

import mido
import numpy as np
import pretty_midi
import pytest
import soundfile

from app import commands
from app.cli import main
from core.document import Document
from core.edits import NameSection, Place
from core.grid import Pin
from core.handover_settings import Settings
from core.project import Project
from core.project_file import write_project
from core.recording import refer
from tests.app.takes import play_audio, play_midi

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(scope="module")
def piano(tmp_path_factory):
    return play_midi(tmp_path_factory.mktemp("takes") / "piano.mid")


@pytest.fixture(scope="module")
def guitar(tmp_path_factory):
    return play_audio(tmp_path_factory.mktemp("takes") / "guitar.wav")


@pytest.fixture(scope="module")
def handed_over(piano, tmp_path_factory):
    """Files of one plain run: the folder of the map of the piano take."""
    folder = tmp_path_factory.mktemp("maps")
    pins = piano.pins(folder / "pins.csv", 1, 2)
    arguments = ["map", piano.path, "--metre", "4/4", "--pins", pins, "--out", folder, "--click", "--quiet"]
    assert main([*map(str, arguments)]) == 0
    return folder


def rows(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def command(*arguments):
    """Run the command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "app.cli", *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def run_json(capsys, *arguments):
    """Run in this process, and read the one object it prints."""
    status = main([*map(str, arguments), "--json", "--quiet"])
    captured = capsys.readouterr()
    return status, json.loads(captured.out)


class TestMap:
    def test_says_what_it_wrote_and_how_exact_it_is(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        status = main(
            ["map", str(piano.path), "--metre", "4/4", "--pins", str(pins), "--out", str(tmp_path / "maps")]
        )
        captured = capsys.readouterr()
        assert status == 0
        names = {"piano.tempo-map.mid", "piano.bars.csv", "piano.beats.csv"}
        assert {path.name for path in (tmp_path / "maps").iterdir()} == names
        assert all(name in captured.out for name in names)
        assert "17 bar lines, 1 to 17: 2 placed" in captured.out
        assert "Read back" in captured.out
        assert "Finding the bar lines" in captured.err

    def test_bar_lines_are_where_they_were_played(self, piano, handed_over):
        found = [float(row["time_s"]) for row in rows(handed_over / "piano.bars.csv")]
        assert found == pytest.approx(list(piano.bars), abs=0.002)

    def test_placed_bar_lines_are_kept_to_the_microsecond(self, piano, handed_over):
        placed = [row for row in rows(handed_over / "piano.bars.csv") if row["origin"] == "placed"]
        assert [row["time_s"] for row in placed] == [f"{time:.6f}" for time in piano.bars[:2]]
        assert [row["bar"] for row in placed] == ["1", "2"]

    def test_another_reader_finds_the_bar_lines_of_the_list(self, handed_over):
        # pretty_midi: a general reader of MIDI files that knows nothing of this project.
        downbeats = pretty_midi.PrettyMIDI(str(handed_over / "piano.tempo-map.mid")).get_downbeats()
        for row in rows(handed_over / "piano.bars.csv")[:-1]:
            assert downbeats[int(row["session_bar"]) - 1] == pytest.approx(float(row["session_time_s"]), abs=1e-5)

    def test_the_recording_lies_at_the_start_of_the_session(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        status, told = run_json(
            capsys, "map", piano.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path / "maps"
        )
        assert status == 0
        assert told["session"]["recording_at_s"] == 0
        assert told["read_back"]["worst_ms"] < 0.01
        assert told["read_back"]["bars"] == 17 + told["session"]["lead_in_bars"]
        assert told["placed"] == 2
        assert told["warnings"] == []
        assert all(Path(path).exists() for path in told["files"].values())

    @pytest.mark.parametrize(("lead_in", "first_line_s"), [("none", 0.0), ("0", 0.0), ("fill", 1.0)])
    def test_lead_in(self, piano, tmp_path, capsys, lead_in, first_line_s):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        arguments = ("map", piano.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path / "maps")
        _, told = run_json(capsys, *arguments, "--lead-in", lead_in)
        assert told["session"]["recording_at_s"] == pytest.approx(first_line_s - 1.0, abs=1e-6)
        first = rows(tmp_path / "maps" / "piano.bars.csv")[0]
        assert float(first["session_time_s"]) == pytest.approx(first_line_s, abs=1e-6)

    def test_fewest_knots_stay_within_the_tolerance(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        arguments = ("map", piano.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path / "maps")
        _, told = run_json(capsys, *arguments, "--knots", "fewest", "--tolerance", "30")
        assert 0 < told["worst_fit_ms"] <= 30
        assert told["tempo_events"] < 16
        _, every_bar = run_json(capsys, *arguments, "--force")
        assert every_bar["worst_fit_ms"] < 0.001
        assert every_bar["tempo_events"] > told["tempo_events"]

    def test_the_midi_file_carries_what_was_asked_for(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        arguments = ["map", piano.path, "--metre", "4/4,9:2/4,13:2+2+3/8", "--pins", pins, "--out", tmp_path]
        options = ["--division", 480, "--key", "F#m", "--notes", "--click", "--name", "evening", "--lead-in", 2]
        assert main([*map(str, arguments + options), "--knots", "beats", "--quiet"]) == 0
        midi = mido.MidiFile(tmp_path / "evening.tempo-map.mid")
        first, notes, click = midi.tracks
        assert (midi.type, midi.ticks_per_beat, first.name) == (1, 480, "evening")
        assert [message.key for message in first if message.type == "key_signature"] == ["F#m"]
        signatures = [(m.numerator, m.denominator) for m in first if m.type == "time_signature"]
        assert signatures == [(4, 4), (2, 4), (7, 8)]
        played = sum(message.type == "note_on" and message.velocity > 0 for message in notes)
        assert played == sum(m.type == "note_on" for m in mido.MidiFile(piano.path).tracks[0])
        assert any(message.type == "note_on" for message in click)

    def test_without_metre_and_bar_lines_both_are_proposed(self, piano, tmp_path, capsys):
        status, told = run_json(capsys, "map", piano.path, "--out", tmp_path)
        assert status == 0
        assert told["proposed"].keys() == {"metre_confidence", "tempo_confidence"}
        assert all(0 <= share <= 1 for share in told["proposed"].values())
        beats = [float(row["time_s"]) for row in rows(tmp_path / "piano.beats.csv")]
        assert told["beats_per_minute"] == pytest.approx(60 / np.median(np.diff(beats)), abs=0.1)
        assert main(["map", str(piano.path), "--out", str(tmp_path), "--force"]) == 0
        assert "Proposed: " in capsys.readouterr().out

    def test_the_list_of_bars_may_be_given_back_as_placed_ones(self, piano, handed_over, tmp_path, capsys):
        bars = handed_over / "piano.bars.csv"
        arguments = ("map", piano.path, "--metre", "4/4", "--pins", bars, "--out", tmp_path)
        status, told = run_json(capsys, *arguments)
        assert status == 0
        assert told["placed"] == 2
        assert (tmp_path / "piano.bars.csv").read_bytes() == bars.read_bytes()

    def test_sections_are_markers_and_stand_in_the_list(self, piano, tmp_path):
        arguments = ["map", piano.path, "--metre", "4/4", "--section", "1:Dawn", "--section", "9:Noon, bright"]
        assert main([*map(str, arguments), "--out", str(tmp_path), "--quiet"]) == 0
        found = rows(tmp_path / "piano.bars.csv")
        assert [row["section"] for row in found if row["bar"] in {"1", "8", "9"}] == [
            "Dawn",
            "Dawn",
            "Noon, bright",
        ]
        first = mido.MidiFile(tmp_path / "piano.tempo-map.mid").tracks[0]
        assert [message.text for message in first if message.type == "marker"] == ["Dawn", "Noon, bright"]

    def test_audio(self, guitar, tmp_path, capsys):
        pins = guitar.pins(tmp_path / "pins.csv", 1, 2)
        status, _ = run_json(capsys, "map", guitar.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path)
        assert status == 0
        found = [float(row["time_s"]) for row in rows(tmp_path / "guitar.bars.csv")]
        assert found == pytest.approx(list(guitar.bars), abs=0.03)

    def test_a_two_hour_take(self, tmp_path, capsys):
        take = play_midi(tmp_path / "long.mid", phrases=860)
        assert take.beats[-1] > 7200
        pins = take.pins(tmp_path / "pins.csv", 1, 2)
        status, told = run_json(capsys, "map", take.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path)
        assert status == 0
        assert told["read_back"]["worst_ms"] < 0.01


class TestBeats:
    def test_columns_and_times(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        out = tmp_path / "piano.beats.csv"
        assert main(["beats", str(piano.path), "--metre", "4/4", "--pins", str(pins), "--out", str(out)]) == 0
        assert str(out) in capsys.readouterr().out
        assert out.read_text(encoding="utf-8").startswith("time_s,bar,beat")
        found = rows(out)
        assert [float(row["time_s"]) for row in found] == pytest.approx(list(piano.beats), abs=0.002)
        assert [row["beat"] for row in found[:5]] == ["1", "2", "3", "4", "1"]

    def test_json(self, piano, tmp_path, capsys):
        status, told = run_json(capsys, "beats", piano.path, "--metre", "4/4", "--out", tmp_path / "beats.csv")
        assert status == 0
        assert told["beats"] == len(rows(tmp_path / "beats.csv"))
        assert told["metre"] == "4/4"


class TestCheck:
    def test_a_map_agrees_with_its_own_list(self, handed_over, capsys):
        files = (handed_over / "piano.tempo-map.mid", handed_over / "piano.bars.csv")
        status, told = run_json(capsys, "check", *files)
        assert (status, told["bars"], told["outside"]) == (0, 17, [])
        assert told["worst_ms"] <= 0.01
        assert main(["check", *map(str, files)]) == 0
        assert "All within" in capsys.readouterr().out

    def test_one_bar_line_off_is_found_and_named(self, handed_over, tmp_path, capsys):
        lines = rows(handed_over / "piano.bars.csv")
        page = "time_s,bar\n" + "\n".join(f"{row['session_time_s']},{row['session_bar']}" for row in lines)
        moved = float(lines[4]["session_time_s"])
        off = tmp_path / "off.csv"
        off.write_text(page.replace(f"{moved:.6f}", f"{moved + 0.002:.6f}"), encoding="utf-8")
        bar = int(lines[4]["session_bar"])
        status, told = run_json(capsys, "check", handed_over / "piano.tempo-map.mid", off)
        assert (status, told["outside"], told["worst_bar"]) == (1, [bar], bar)
        assert told["worst_ms"] == pytest.approx(2, abs=0.01)
        assert main(["check", str(handed_over / "piano.tempo-map.mid"), str(off), "--tolerance", "2.1"]) == 0
        assert f"bar {bar}" in capsys.readouterr().out

    def test_a_list_in_the_count_of_the_take(self, piano, handed_over, tmp_path, capsys):
        # The take lies at the start of the session, one bar of lead-in before bar 1.
        played = piano.pins(tmp_path / "played.csv", *range(1, 18))
        files = (handed_over / "piano.tempo-map.mid", played)
        status, told = run_json(capsys, "check", *files, "--shift", 1, "--tolerance", 2)
        assert (status, told["bars"]) == (0, 17)
        assert main(["check", *map(str, files), "--tolerance", "2"]) == 1


@pytest.mark.skipif(sys.platform != "linux", reason="the place of the settings is chosen by the XDG variables")
def test_recent_takes_and_projects_are_listed_the_latest_first(tmp_path, piano):
    places = {"XDG_CONFIG_HOME": str(tmp_path / "config"), "XDG_STATE_HOME": str(tmp_path / "state")}

    def listed(*arguments):
        run = [sys.executable, "-m", "app.cli", "recent", *arguments]
        return subprocess.run(run, env={**os.environ, **places}, capture_output=True, text=True, check=True).stdout

    assert listed() == "No take or project has been opened in the window yet.\n"
    project, gone = tmp_path / "evening.barwright", tmp_path / "gone.mid"
    project.touch()
    kept = "".join(f"{i}\\path={path}\n" for i, path in enumerate((project, gone, piano.path), 1))
    (tmp_path / "config/Barwright/Barwright.ini").write_text(f"[recent]\n{kept}size=3\n", encoding="utf-8")
    assert listed().splitlines() == [str(project), str(piano.path)]
    assert json.loads(listed("--json")) == {"recent": [str(project), str(piano.path)]}


class TestDescribe:
    def test_midi(self, piano, capsys):
        status, told = run_json(capsys, "describe", piano.path)
        notes = sum(message.type == "note_on" for message in mido.MidiFile(piano.path))
        assert (status, told["kind"], told["notes"]) == (0, "midi", notes)
        assert told["onsets"] == len(piano.beats)
        assert main(["describe", str(piano.path)]) == 0
        assert f"{notes} notes" in capsys.readouterr().out

    def test_audio(self, guitar, capsys):
        status, told = run_json(capsys, "describe", guitar.path)
        assert (status, told["kind"], told["rate"], told["channels"]) == (0, "audio", 22050, 1)
        assert told["duration_s"] == pytest.approx(soundfile.info(guitar.path).duration, abs=1e-6)


class TestExistingFiles:
    def test_nothing_is_written_over_unless_it_is_said(self, piano, handed_over, tmp_path, capsys):
        (tmp_path / "piano.bars.csv").write_text("mine", encoding="utf-8")
        arguments = ["map", str(piano.path), "--metre", "4/4", "--out", str(tmp_path), "--quiet"]
        assert main(arguments) == 2
        assert "exists already" in capsys.readouterr().err
        assert [path.name for path in tmp_path.iterdir()] == ["piano.bars.csv"]
        assert (tmp_path / "piano.bars.csv").read_text(encoding="utf-8") == "mine"
        assert main([*arguments, "--force"]) == 0
        assert (tmp_path / "piano.bars.csv").read_text(encoding="utf-8") != "mine"

    def test_what_was_given_is_never_written_over(self, piano, tmp_path, capsys):
        pins = piano.pins(tmp_path / "piano.bars.csv", 1, 2)
        before = pins.read_bytes()
        arguments = ["map", piano.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path, "--force"]
        assert main([*map(str, arguments)]) == 2
        assert "never written over" in capsys.readouterr().err
        assert pins.read_bytes() == before
        arguments = ["beats", piano.path, "--metre", "4/4", "--out", piano.path, "--force"]
        assert main([*map(str, arguments)]) == 2
        assert mido.MidiFile(piano.path).length > 30

    def test_a_full_disk_leaves_no_half_file(self, piano, tmp_path, capsys, monkeypatch):
        def full(_descriptor):
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr("core.safe_write.os.fsync", full)
        assert main(["map", str(piano.path), "--metre", "4/4", "--out", str(tmp_path), "--quiet"]) == 2
        assert "disk is full" in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []

    def test_a_list_that_cannot_be_put_in_its_place_leaves_the_old_map_too(
        self, piano, tmp_path, capsys, monkeypatch
    ):
        arguments = ["map", str(piano.path), "--metre", "4/4", "--out", str(tmp_path), "--quiet"]
        assert main(arguments) == 0
        before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
        real, moved = os.replace, []

        def fail_at_the_last(*paths):
            moved.append(paths)
            if len(moved) == 3:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            real(*paths)

        monkeypatch.setattr("core.safe_write.os.replace", fail_at_the_last)
        assert main([*arguments, "--force", "--division", "480"]) == 2
        assert "piano.beats.csv was not written: the disk is full" in capsys.readouterr().err
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


GIVEN = {
    "empty.mid": b"",
    "empty.wav": b"",
    "words.mid": b"These are words.",
    "words.wav": b"These are words, and not a few of them: enough to fill a header.",
    "cut.mid": b"MThd\x00\x00\x00\x06\x00\x01\x00",
    "outside.csv": b"time_s,bar\n1.0,1\n999.0,2\n",
    "early.csv": b"time_s,bar\n-1.0,1\n",
    "backwards.csv": b"time_s,bar\n3.0,1\n1.0,2\n",
    "twice.csv": b"time_s,bar\n1.0,1\n3.0,1\n",
    "crowded.csv": b"time_s,bar\n1.0,1\n3.0,2\n3.1,90\n",
    "descending.csv": b"time_s,bar\n1.0,3\n3.0,2\n",
    "beat9.csv": b"time_s,bar,beat\n1.0,1,9\n",
    "words.csv": b"time_s,bar\nsoon,1\n",
    "headless.csv": b"1.0,1\n2.0,2\n",
    "binary.csv": b"\xff\xfe\x00\x01",
}


@pytest.fixture(scope="module")
def bad(tmp_path_factory, piano):
    """A folder of things that cannot be used."""
    folder = tmp_path_factory.mktemp("bad")
    for name, data in GIVEN.items():
        (folder / name).write_bytes(data)
    silent, one = mido.MidiTrack(), mido.MidiTrack([mido.Message("note_on", note=60, velocity=64)])
    one.append(mido.Message("note_off", note=60, time=480))
    mido.MidiFile(tracks=[silent]).save(folder / "no-notes.mid")
    mido.MidiFile(tracks=[one]).save(folder / "one-note.mid")
    soundfile.write(folder / "silence.wav", np.zeros(22050 * 3), 22050)
    broken = np.full(22050 * 3, np.nan, dtype=np.float32)
    soundfile.write(folder / "nan.wav", broken, 22050, subtype="FLOAT")
    (folder / "folder.mid").mkdir()
    return folder


MAP = "map {piano} --metre 4/4 --out {out}"
BAD_INPUT = {
    "missing take": ("map {bad}/none.mid --out {out}", "none.mid"),
    "take is a folder": ("map {bad}/folder.mid --out {out}", "folder.mid"),
    "empty MIDI": ("map {bad}/empty.mid --out {out}", "empty.mid"),
    "empty audio": ("map {bad}/empty.wav --out {out}", "empty.wav"),
    "not MIDI": ("map {bad}/words.mid --out {out}", "words.mid"),
    "not audio": ("describe {bad}/words.wav", "words.wav"),
    "truncated MIDI": ("beats {bad}/cut.mid --out {out}", "cut.mid"),
    "no notes": ("map {bad}/no-notes.mid --out {out}", "no"),
    "one note": ("map {bad}/one-note.mid --metre 4/4 --out {out}", "one"),
    "silence": ("map {bad}/silence.wav --metre 4/4 --out {out}", "silen"),
    "samples that are no numbers": ("map {bad}/nan.wav --metre 4/4 --out {out}", "not"),
    "pins after the end": (MAP + " --pins {bad}/outside.csv", "999"),
    "pins before the start": (MAP + " --pins {bad}/early.csv", "before the take"),
    "pins out of order": (MAP + " --pins {bad}/backwards.csv", "order"),
    "two pins for one bar": (MAP + " --pins {bad}/twice.csv", "bar 1"),
    "more bars than time": (MAP + " --pins {bad}/crowded.csv", "90"),
    "bar numbers that go back": (MAP + " --pins {bad}/descending.csv", "bar 3"),
    "a beat the bar does not have": (MAP + " --pins {bad}/beat9.csv", "9"),
    "a time in words": (MAP + " --pins {bad}/words.csv", "line 2"),
    "pins without header": (MAP + " --pins {bad}/headless.csv", "time_s"),
    "pins that are no text": (MAP + " --pins {bad}/binary.csv", "binary.csv"),
    "missing pins": (MAP + " --pins {bad}/none.csv", "none.csv"),
    "metre 0/4": ("map {piano} --metre 0/4 --out {out}", "0/4"),
    "metre 5/3": ("map {piano} --metre 5/3 --out {out}", "5/3"),
    "metre in words": ("map {piano} --metre waltz --out {out}", "waltz"),
    "metre change without bar": ("map {piano} --metre 4/4,3/4 --out {out}", "17:3/4"),
    "metre change at no number": ("map {piano} --metre 4/4,x:3/4 --out {out}", "bar number"),
    "metre changes out of order": ("map {piano} --metre 4/4,9:3/4,5:4/4 --out {out}", "in order"),
    "pickup of a whole bar": (MAP + " --pickup 4", "pickup"),
    "pickup in words": (MAP + " --pickup some", "some"),
    "pickup over nothing": (MAP + " --pickup 1/0", "1/0"),
    "tolerance of nothing": (MAP + " --knots fewest --tolerance 0", "tolerance"),
    "tolerance without a use": (MAP + " --tolerance 10", "--knots fewest"),
    "unknown knots": (MAP + " --knots some", "--knots"),
    "lead-in in words": (MAP + " --lead-in long", "lead-in"),
    "lead-in beyond reason": (MAP + " --lead-in 5000", "5000"),
    "division too small": (MAP + " --division 24", "24"),
    "division in words": (MAP + " --division fine", "--division"),
    "unknown key": (MAP + " --key H", "H"),
    "section without a name": (MAP + " --section 9", "section"),
    "section at no bar": (MAP + " --section 900:Coda", "900"),
    "name with a folder": (MAP + " --name a/b", "a/b"),
    "hold of a bar that is not there": (MAP + " --hold 500", "500"),
    "output folder is a file": ("map {piano} --metre 4/4 --out {piano}", "is a file"),
    "output folder inside a file": ("map {piano} --metre 4/4 --out {piano}/maps", "cannot be made"),
    "output file in no folder": ("beats {piano} --metre 4/4 --out {out}/no/where.csv", "folder"),
    "notes of an audio take": ("map {guitar} --metre 4/4 --out {out} --notes", "no notes"),
    "check without map": ("check {bad}/none.mid {maps}/piano.bars.csv", "none.mid"),
    "check of no map": ("check {bad}/words.mid {maps}/piano.bars.csv", "words.mid"),
    "check without list": ("check {maps}/piano.tempo-map.mid {bad}/none.csv", "none.csv"),
    "check beyond the end": ("check {maps}/piano.tempo-map.mid {bad}/crowded.csv", "bar 90"),
    "check within nothing": ("check {maps}/piano.tempo-map.mid {maps}/piano.bars.csv --tolerance -1", "-1"),
    "no output named": ("map {piano}", "--out"),
    "unknown option": (MAP + " --swing", "--swing"),
    "shortened option": (MAP + " --metr 4/4", "--metr"),
    "unknown command": ("maps {piano}", "maps"),
}


@pytest.mark.parametrize(("line", "named"), BAD_INPUT.values(), ids=BAD_INPUT.keys())
def test_bad_input_is_one_sentence_and_status_2(line, named, piano, guitar, handed_over, bad, tmp_path, capsys):
    places = {"piano": piano.path, "guitar": guitar.path, "maps": handed_over, "bad": bad, "out": tmp_path / "out"}
    before = sorted(handed_over.iterdir())
    arguments = [part.format(**places) for part in line.split()]
    status = main(arguments if arguments[0] == "maps" else [*arguments, "--quiet"])
    captured = capsys.readouterr()
    assert status == 2
    assert captured.out == ""
    assert captured.err.startswith("barwright: ")
    assert captured.err.count("\n") == 1
    assert captured.err.endswith(".\n")
    assert named in captured.err
    assert "Traceback" not in captured.err
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())
    assert sorted(handed_over.iterdir()) == before


def from_the_readme(beginning):
    """Arguments of a command as README shows it."""
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    line = next(line for line in page.splitlines() if f".venv/bin/barwright {beginning} " in line)
    return shlex.split(line.partition(".venv/bin/barwright ")[2])


def test_the_first_command_of_the_readme_maps_the_example_as_it_was_played(tmp_path, monkeypatch, capsys):
    """All bar lines within 10 ms of the truth, from the first two of them and at most six more."""
    folder = str(tmp_path / "maps")
    arguments = [folder if part == "maps" else part for part in from_the_readme("map")]
    monkeypatch.chdir(ROOT)
    assert len(rows(Path(arguments[arguments.index("--pins") + 1]))) <= 8
    status, told = run_json(capsys, *arguments)
    assert (status, told["warnings"]) == (0, [])
    assert told["read_back"]["worst_ms"] < 0.01

    arguments = [part.replace("maps/", f"{folder}/") for part in from_the_readme("check")]
    status, checked = run_json(capsys, *arguments)
    assert (status, checked["outside"], checked["tolerance_ms"]) == (0, [], 10)
    assert checked["bars"] == told["bars"] == len(rows(ROOT / "examples" / "low-tide.bars.csv"))


class TestProject:
    """A project made here says what the options of a take would say: the files must be the same."""

    @pytest.fixture
    def project(self, piano, tmp_path):
        edits = (Place(Pin(piano.bars[0], 1)), Place(Pin(piano.bars[1], 2)), NameSection(5, "Bridge"))
        document = Document()
        for edit in edits:
            document = edit.apply(document)
        path = tmp_path / "evening.barwright"
        choices = Settings(name="piano", knots="beats", division=480, click=True, lead_in=2)
        reference = refer(piano.path, tmp_path)
        write_project(
            path,
            Project(recording=reference, document=document, first=Document(), edits=edits, at=3, settings=choices),
        )
        return path

    def test_its_take_bars_and_choices_are_used(self, piano, project, tmp_path):
        asked = ["map", project, "--out", tmp_path / "project", "--quiet"]
        assert main([*map(str, asked)]) == 0
        pins = piano.pins(tmp_path / "pins.csv", 1, 2)
        asked = ["map", piano.path, "--metre", "4/4", "--pins", pins, "--out", tmp_path / "take", "--quiet"]
        asked += ["--knots", "beats", "--division", 480, "--click", "--lead-in", 2, "--section", "5:Bridge"]
        assert main([*map(str, asked)]) == 0
        names = sorted(path.name for path in (tmp_path / "take").iterdir())
        assert names == sorted(path.name for path in (tmp_path / "project").iterdir())
        for name in names:
            if name.endswith(".csv"):
                mine, theirs = (rows(tmp_path / of / name) for of in ("project", "take"))
                # Pins of a list are rounded to the microsecond.
                assert [list(row) for row in mine] == [list(row) for row in theirs]
                for one, other in zip(mine, theirs, strict=True):
                    assert float(one["time_s"]) == pytest.approx(float(other["time_s"]), abs=2e-6)

    def test_what_is_given_goes_before_what_is_saved(self, project, tmp_path, capsys):
        asked = ["map", project, "--out", tmp_path / "maps", "--name", "other", "--division", 960]
        status, told = run_json(capsys, *asked)
        assert status == 0
        assert Path(told["files"]["map"]).name == "other.tempo-map.mid"
        assert mido.MidiFile(told["files"]["map"]).ticks_per_beat == 960
        assert told["placed"] == 2

    def test_beats_too(self, project, tmp_path):
        assert main(["beats", str(project), "--out", str(tmp_path / "beats.csv"), "--quiet"]) == 0
        assert rows(tmp_path / "beats.csv")

    @pytest.mark.parametrize("option", ["--metre 3/4", "--pickup 1", "--hold 3", "--section 3:A", "--pins {pins}"])
    def test_its_bars_are_not_said_twice(self, piano, project, tmp_path, capsys, option):
        pins = piano.pins(tmp_path / "pins.csv", 1)
        options = [part.format(pins=pins) for part in option.split()]
        assert main(["map", str(project), "--out", str(tmp_path / "maps"), *options]) == 2
        assert f"leave out {options[0]}" in capsys.readouterr().err
        assert not (tmp_path / "maps").exists()

    def test_a_newer_one_is_used_as_far_as_it_is_known_and_stays_as_it_is(self, project, tmp_path, capsys):
        whole = json.loads(project.read_bytes())
        whole["version"] += 1
        whole["document"]["swing"] = 0.6
        project.write_text(json.dumps(whole))
        before = project.read_bytes()
        status, told = run_json(capsys, "map", project, "--out", tmp_path / "maps")
        assert status == 0
        assert told["placed"] == 2
        assert "newer Barwright, shown without “swing”" in told["warnings"][0]
        assert main(["beats", str(project), "--out", str(tmp_path / "beats.csv"), "--quiet"]) == 0
        assert "newer Barwright" in capsys.readouterr().err
        assert project.read_bytes() == before

    def test_a_recording_that_is_not_there_is_said(self, project, tmp_path, capsys):
        moved = tmp_path / "elsewhere" / "evening.barwright"
        moved.parent.mkdir()
        project.rename(moved)
        assert main(["map", str(moved), "--out", str(tmp_path / "maps")]) == 2
        said = capsys.readouterr().err
        assert "piano.mid, the recording of evening.barwright" in said
        assert said.count("\n") == 1


class TestLeaving:
    @pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is always a screen")
    def test_alone_it_wants_a_screen_for_its_window(self):
        known = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
        settings = {name: value for name, value in os.environ.items() if name not in known}
        line = [sys.executable, "-m", "app.cli"]
        result = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, env=settings, check=False)
        assert (result.returncode, result.stdout) == (2, "")
        assert result.stderr.startswith("barwright: there is no screen")

    def test_help_lists_every_command(self):
        result = command("--help")
        assert all(name in result.stdout for name in ("map", "beats", "check", "describe"))

    @pytest.mark.parametrize("arguments", [["--help"], ["map", "--help"], ["check", "--help"]])
    def test_help(self, arguments):
        result = command(*arguments)
        assert result.returncode == 0
        assert result.stdout.startswith("usage: barwright")
        assert result.stderr == ""

    @pytest.mark.skipif(
        not list(distributions(name="barwright")), reason="barwright is not installed here: it has no version"
    )
    def test_version_is_that_of_the_project(self):
        result = command("--version")
        assert result.returncode == 0
        line = (ROOT / "pyproject.toml").read_text(encoding="utf-8").split('\nversion = "')[1].split('"')[0]
        assert result.stdout == f"barwright {line}\n"

    def test_a_bad_take_in_a_process_of_its_own(self, tmp_path):
        result = command("describe", tmp_path / "none.mid")
        assert (result.returncode, result.stdout) == (2, "")
        assert result.stderr.splitlines()[-1].startswith("barwright: ")

    def test_a_failed_check_in_a_process_of_its_own(self, handed_over, tmp_path):
        off = tmp_path / "off.csv"
        off.write_text("time_s,bar\n0.000,1\n0.400,2\n", encoding="utf-8")
        result = command("check", handed_over / "piano.tempo-map.mid", off)
        assert result.returncode == 1
        assert "Outside" in result.stdout

    @pytest.mark.parametrize("arguments", [["--help"], ["check", "{map}", "{bars}"]])
    def test_nobody_reads_the_answer(self, arguments, handed_over):
        files = {"map": handed_over / "piano.tempo-map.mid", "bars": handed_over / "piano.bars.csv"}
        line = [sys.executable, "-m", "app.cli", *(part.format(**files) for part in arguments)]
        # Unbuffered, argparse itself would meet the closed pipe, and pass over it.
        settings = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
        pipe = subprocess.PIPE
        with subprocess.Popen(line, cwd=ROOT, stdout=pipe, stderr=pipe, env=settings) as process:
            process.stdout.close()
            assert process.stderr.read() == b""
            assert process.wait() == 141

    def test_an_interruption_is_quiet(self, piano, capsys, monkeypatch):
        def interrupt(_given):
            raise KeyboardInterrupt

        monkeypatch.setattr(commands, "describe_take", interrupt)
        assert main(["describe", str(piano.path)]) == 130
        assert capsys.readouterr() == ("", "")

    def test_a_fault_of_our_own_asks_to_be_reported(self, piano, capsys, monkeypatch):
        def fail(_given):
            raise RuntimeError("wires\ncrossed")

        monkeypatch.setattr(commands, "describe_take", fail)
        assert main(["describe", str(piano.path)]) == 70
        sentence = capsys.readouterr().err
        assert sentence.startswith("barwright: ")
        assert sentence.count("\n") == 1
        assert "--debug" in sentence
        assert main(["describe", str(piano.path), "--debug"]) == 70
        assert "Traceback" in capsys.readouterr().err

    def test_an_error_of_the_system_names_the_file(self, piano, capsys, monkeypatch):
        def fail(_given):
            raise OSError(errno.EIO, "Input/output error", "take.wav")

        monkeypatch.setattr(commands, "describe_take", fail)
        assert main(["describe", str(piano.path)]) == 2
        assert capsys.readouterr().err == "barwright: take.wav: Input/output error.\n"
