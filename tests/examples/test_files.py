"""The files in the repository: what the script writes, and true."""

import csv
from collections import Counter
from itertools import pairwise
from pathlib import Path

import numpy as np
import pretty_midi
import pytest
import soundfile

from core.metre import TimeSignature
from core.onsets_midi import midi_onsets
from core.take import MidiTake, Notes
from examples import make, net_mending
from examples.ogg import with_serial
from tests.bench.corpus import read_corpus

HERE = Path(make.__file__).parent
NAMES = ("low-tide", "net-mending", "night-ferry")
KINDS = (".mid", ".bars.csv", ".beats.csv", ".pins.csv")
SMALL = [name + kind for name in NAMES for kind in KINDS] + ["low-tide.pauses.csv"]


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("examples")
    make.main(["--out", str(folder)])
    return folder


def rows(name):
    with (HERE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def bar_times(name):
    return np.array([float(row["time_s"]) for row in rows(f"{name}.bars.csv")])


def chords(name):
    """Chord times by the rule of the take's own onsets, from notes read by pretty_midi."""
    midi = pretty_midi.PrettyMIDI(str(HERE / f"{name}.mid"))
    read = sorted(midi.instruments[0].notes, key=lambda note: note.start)
    notes = Notes(
        start=np.array([note.start for note in read]),
        end=np.array([note.end for note in read]),
        pitch=np.array([note.pitch for note in read]),
        velocity=np.array([note.velocity for note in read]),
        channel=np.zeros(len(read), dtype=np.int64),
    )
    return midi_onsets(MidiTake(path=HERE, duration=midi.get_end_time(), notes=notes, messages=())).time


@pytest.mark.parametrize("name", SMALL)
def test_the_script_writes_the_file_in_the_repository(written, name):
    assert (written / name).read_bytes() == (HERE / name).read_bytes()


def test_nothing_else_is_written(written):
    assert {path.name for path in written.iterdir()} == {*SMALL, "net-mending.ogg"}


def test_the_guitar_in_the_repository_is_the_script_s_to_the_sample():
    # An encoder of another version writes other bytes, so the sound is compared, and where it lies.
    heard, rate = soundfile.read(HERE / "net-mending.ogg")
    _, samples = net_mending.net_mending()
    assert (rate, len(heard)) == (net_mending.RATE, len(samples))
    spectrum = np.fft.rfft(heard, 2 * len(heard)) * np.conj(np.fft.rfft(samples, 2 * len(heard)))
    assert np.argmax(np.fft.irfft(spectrum)) == 0
    noise = np.sum((heard - samples) ** 2) / np.sum(samples**2)
    assert 10 * np.log10(noise) < -15


def test_the_guitar_is_written_the_same_every_time(written, tmp_path):
    make.main(["--out", str(tmp_path)])
    assert (tmp_path / "net-mending.ogg").read_bytes() == (written / "net-mending.ogg").read_bytes()


def test_pages_with_another_serial_number_are_still_pages(tmp_path):
    # libsndfile refuses a page whose checksum is wrong.
    data = (HERE / "net-mending.ogg").read_bytes()
    (tmp_path / "other.ogg").write_bytes(with_serial(data, 77))
    assert (soundfile.read(tmp_path / "other.ogg")[0] == soundfile.read(HERE / "net-mending.ogg")[0]).all()
    assert with_serial(with_serial(data, 77), 1) == data


@pytest.mark.parametrize("name", NAMES)
def test_every_bar_line_is_the_mean_onset_of_a_chord(name):
    # Where annotators of performances put it (ASAP data: 82 % of their bar lines within 5 ms of the mean onset).
    distance = np.abs(bar_times(name)[:, None] - chords(name)).min(axis=1)
    assert distance.max() < 0.001


@pytest.mark.parametrize(
    ("name", "bars", "first_beats"),
    [
        ("low-tide", 248, [(0, 4), (1, 1)]),
        ("net-mending", 24, [(1, 1), (1, 2)]),
        ("night-ferry", 15, [(1, 1), (1, 2)]),
    ],
)
def test_bars_and_beats_count_on(name, bars, first_beats):
    lines, beats = rows(f"{name}.bars.csv"), rows(f"{name}.beats.csv")
    assert [int(row["bar"]) for row in lines] == list(range(1, bars + 1))
    assert [row["time_s"] for row in beats if row["kind"] == "db"] == [row["time_s"] for row in lines]
    counted = [(int(row["bar"]), int(row["beat"])) for row in beats]
    assert counted[:2] == first_beats
    in_bar = Counter(bar for bar, _ in counted)
    for row in lines[:-1]:
        assert in_bar[int(row["bar"])] == TimeSignature.parse(row["time_signature"]).beats
    assert all(float(a["time_s"]) < float(b["time_s"]) for a, b in pairwise(beats))


@pytest.mark.parametrize("name", NAMES)
def test_the_pins_are_true_bar_lines_the_first_two_and_six_more_at_most(name):
    truth = [(row["time_s"], row["bar"]) for row in rows(f"{name}.bars.csv")]
    pins = [(row["time_s"], row["bar"]) for row in rows(f"{name}.pins.csv")]
    assert pins[:2] == truth[:2]
    assert set(pins) <= set(truth)
    assert len(pins) <= 8


def test_the_long_take_changes_metre_twice_and_stops_eleven_times():
    lines = rows("low-tide.bars.csv")
    changes = [
        (int(b["bar"]), b["time_signature"])
        for a, b in pairwise(lines)
        if a["time_signature"] != b["time_signature"]
    ]
    assert changes == [(72, "3/4"), (144, "4/4")]
    assert 590 < chords("low-tide")[-1] < 610
    times = chords("low-tide")
    pauses = rows("low-tide.pauses.csv")
    assert len(pauses) == 11
    for row in pauses:
        start, end, saved = (float(row[key]) for key in ("start_s", "end_s", "saved_s"))
        assert 1.5 <= saved <= 5
        assert end - start > saved
        # Nothing is struck while the player thinks.
        assert np.abs(times - start).min() < 0.001
        assert not ((times > start + 0.02) & (times < end - 0.02)).any()


def test_the_slow_six_eight_is_slow():
    # Two beats a bar at 40 to 46 a minute.
    tempo = 120 / np.diff(bar_times("night-ferry")[:-1])
    assert 40 < np.median(tempo) < 46


def test_the_folder_reads_as_a_corpus():
    takes = {take.name: take for take in read_corpus(HERE)}
    assert set(takes) == set(NAMES)
    assert str(takes["low-tide"].metre.pickup) == "1"
    assert takes["night-ferry"].metre.changes == ((1, TimeSignature(6, 8)),)
