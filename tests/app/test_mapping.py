"""A take handed over from the command line, its files read by other readers."""

import csv
import json
from itertools import pairwise

import mido
import numpy as np
import pretty_midi
import pytest
import soundfile

from app.cli import main
from tests.app.takes import play_midi


@pytest.fixture(scope="module")
def piano(tmp_path_factory):
    return play_midi(tmp_path_factory.mktemp("takes") / "piano.mid")


def run(capsys, *arguments):
    """Run the command, and read the one object it prints."""
    assert main([*map(str, arguments), "--json", "--quiet"]) == 0
    return json.loads(capsys.readouterr().out)


def test_empty_bars_in_front_are_in_every_file(piano, tmp_path, capsys):
    pins = piano.pins(tmp_path / "pins.csv", 1, 2)
    asked = ["--metre", "4/4", "--pins", pins, "--section", "1:Dawn", "--section", "9:Noon", "--intro", 4]
    out = tmp_path / "maps"
    told = run(capsys, "map", piano.path, *asked, "--everything", "--click", "--out", out)
    offset, first = told["session"]["recording_at_s"], told["session"]["lead_in_bars"]
    # One bar, the fifth, holds the second that was recorded before bar 1.
    assert (first, told["session"]["bar_shift"], told["warnings"]) == (5, 5, [])
    assert told["read_back"]["bars"] == first + 17

    # pretty_midi and mido: general readers of MIDI files that know nothing of this project.
    tempo_map = pretty_midi.PrettyMIDI(str(out / "piano.tempo-map.mid"))
    lines = tempo_map.get_downbeats()
    np.testing.assert_allclose(lines[first : first + 16], piano.bars[:16] + offset, atol=0.002)
    np.testing.assert_allclose(np.diff(lines[: first + 1]), lines[1], atol=2e-5)
    clicks = np.array([note.start for note in tempo_map.instruments[0].notes])
    assert sum(clicks < lines[4] - 1e-6) == 16
    track = mido.MidiFile(out / "piano.tempo-map.mid").tracks[0]
    ticks = np.cumsum([message.time for message in track])
    at = {message.text: tick for message, tick in zip(track, ticks, strict=True) if message.type == "marker"}
    assert at == {"Dawn": first * 4 * 960, "Noon": (first + 8) * 4 * 960}

    played = pretty_midi.PrettyMIDI(str(piano.path)).instruments[0].notes
    handed = pretty_midi.PrettyMIDI(str(out / "piano.take.mid")).instruments[0].notes
    starts = [sorted((note.pitch, note.start) for note in notes) for notes in (played, handed)]
    np.testing.assert_allclose(np.array(starts[1]) - np.array(starts[0]), [[0, offset]] * len(played), atol=1e-3)
    steady = pretty_midi.PrettyMIDI(str(out / "piano.steady.mid"))
    begins = min(note.start for note in steady.instruments[0].notes)
    assert begins == pytest.approx(first * 4 * 60 / told["steady_tempo_qpm"], abs=0.005)

    sound, rate = soundfile.read(out / "piano.take.wav")
    sounding = np.flatnonzero(np.abs(sound).max(axis=1) > 1e-4)[0] / rate
    assert sounding == pytest.approx(piano.bars[0] + offset, abs=0.02)
    ticking, rate = soundfile.read(out / "piano.click.wav")
    for begin, end in pairwise(lines[:5]):
        assert np.abs(ticking[round(begin * rate) : round(end * rate)]).max() > 0.05

    with (out / "piano.bars.csv").open(newline="", encoding="utf-8") as file:
        row = next(csv.DictReader(file))
    assert (row["bar"], row["session_bar"]) == ("1", str(first + 1))
    assert float(row["session_time_s"]) == pytest.approx(float(row["time_s"]) + offset, abs=1e-6)
    assert main(["check", str(out / "piano.tempo-map.mid"), str(out / "piano.bars.csv")]) == 0


def test_a_number_of_empty_bars_that_cannot_be_is_refused(piano, tmp_path, capsys):
    assert main(["map", str(piano.path), "--metre", "4/4", "--intro", "-1", "--out", str(tmp_path)]) == 2
    assert "ask for 0 to 999" in capsys.readouterr().err
