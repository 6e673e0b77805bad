"""All files of a hand-over together, by other readers: sound, levels, marks, the page and the list."""

import hashlib
import json
from html.parser import HTMLParser

import numpy as np
import pytest
import soundfile

from core.document import Document, Section
from core.edits import LeaveOut
from core.errors import HandoverError, InputError, TakeError
from core.handover import plan, write
from core.handover_settings import Settings
from core.heard_take import heard_take
from core.metre import Metre
from core.passages import Passage
from core.plan_heard import plan_of
from core.read_audio import open_audio
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato
from tests.core.riff import cue_points

RATE = 22_050
SECTIONS = [Section(1, "Low tide"), Section(5, "B/2")]
ALL_SOUND = {"sound": True, "loops": True, "click_sound": True, "steady": True, "report": True, "manifest": True}


@pytest.fixture(scope="module")
def grid():
    return grid_of(Metre.steady(FOUR), rubato(32, spread=0.05), start=1.4, placed=frozenset({0, 4}))


@pytest.fixture(scope="module")
def take(grid, tmp_path_factory):
    path = tmp_path_factory.mktemp("take") / "evening.wav"
    seconds = np.arange(int((grid.bar_times[-1] + 1.5) * RATE)) / RATE
    sound = np.zeros((len(seconds), 2))
    for i, beat in enumerate(grid.beat_times):
        since = np.maximum(seconds - beat, 0)
        tone = np.exp(-5 * since) * np.sin(2 * np.pi * (220 + 20 * (i % 7)) * since)
        sound += (0.8 if i == 9 else 0.4) * np.stack([tone, 0.7 * tone], axis=1)
    soundfile.write(path, sound / np.abs(sound).max() * 0.9, RATE, subtype="PCM_16")
    return open_audio(path)


@pytest.fixture(scope="module")
def folder(grid, take, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    stages = []
    planned = plan(grid, Settings(name="evening", **ALL_SOUND), take=take, sections=SECTIONS)
    written = write(planned, folder, given=[take.path], stages=lambda words, share: stages.append((words, share)))
    return folder, planned, written, stages


def test_every_file_is_there_and_said(folder):
    out, planned, written, stages = folder
    names = [file.name for file in planned.files]
    assert names == [
        *("evening.tempo-map.mid", "evening.bars.csv", "evening.beats.csv", "evening.take.wav"),
        *("evening.section-1-Low tide.wav", "evening.section-2-B-2.wav", "evening.click.wav"),
        *("evening.steady.wav", "evening.report.html", "evening.manifest.json"),
    ]
    assert sorted(names) == sorted(path.name for path in out.iterdir())
    assert set(planned.settings.file_names(SECTIONS)) == set(names)
    assert {words for words, share in stages if share == 1.0} >= {"Measuring the peak", "Writing evening.take.wav"}
    assert written.map_path == out / "evening.tempo-map.mid"


def test_the_take_begins_with_the_session_to_the_sample(folder, take):
    out, planned, written, _ = folder
    found, rate = soundfile.read(out / "evening.take.wav")
    own, _ = soundfile.read(take.path)
    start = round(planned.session.offset * RATE)
    assert rate == RATE
    assert len(found) == len(own) + start
    gain = 10 ** (written.gain_db / 20)
    np.testing.assert_allclose(found[max(start, 0) :], gain * own[max(-start, 0) :], atol=2**-23)
    assert not found[: max(start, 0)].any()


def test_it_is_cut_to_the_sample_where_the_session_begins_later(grid, take, tmp_path):
    planned = plan(grid, Settings(name="cut", lead_in="none", sound=True, peak=0.0), take=take)
    assert "first 1.400 s cut off" in planned.files[-1].holds
    assert write(planned, tmp_path).gain_db == 0
    found, _ = soundfile.read(tmp_path / "cut.take.wav")
    own, _ = soundfile.read(take.path)
    # What was 16 bits is the same number in 24.
    np.testing.assert_array_equal(found, own[round(1.4 * RATE) :])


def test_peaks_and_loudness_are_as_a_reference_library_measures_them(folder, take):
    # A stem peaks no higher than -12 dBFS (common practice, no source). pyloudnorm: ITU-R BS.1770-4.
    pyloudnorm = pytest.importorskip("pyloudnorm", reason="needs the package pyloudnorm")
    out, _, written, _ = folder
    for path in out.glob("*.wav"):
        found, _ = soundfile.read(path)
        assert np.abs(found).max() <= 10 ** (-12 / 20) + 2**-23, path.name
    found, _ = soundfile.read(out / "evening.take.wav")
    own, _ = soundfile.read(take.path)
    assert 20 * np.log10(np.abs(found).max()) == pytest.approx(-12.0, abs=0.001)
    meter = pyloudnorm.Meter(RATE)
    turned = meter.integrated_loudness(found) - meter.integrated_loudness(own)
    assert turned == pytest.approx(written.gain_db, abs=0.05)
    assert written.gain_db == pytest.approx(-12 - 20 * np.log10(np.abs(own).max()), abs=1e-6)


def test_a_known_tone_has_the_loudness_of_the_standard(tmp_path):
    # EBU Tech 3341, case 1: a stereo sine of 1 kHz at -23 dBFS reads -23.0 LUFS, within 0.1.
    pyloudnorm = pytest.importorskip("pyloudnorm", reason="needs the package pyloudnorm")
    seconds = np.arange(20 * RATE) / RATE
    tone = 0.9 * np.sin(2 * np.pi * 1000 * seconds)
    soundfile.write(tmp_path / "tone.wav", np.stack([tone, tone], axis=1), RATE, subtype="PCM_24")
    grid = grid_of(Metre.steady(FOUR), [0.5] * 38)
    settings = Settings(name="tone", sound=True, peak=-23.0, lead_in="none")
    write(plan(grid, settings, take=open_audio(tmp_path / "tone.wav")), tmp_path)
    found, _ = soundfile.read(tmp_path / "tone.take.wav")
    assert pyloudnorm.Meter(RATE).integrated_loudness(found) == pytest.approx(-23.0, abs=0.1)


def test_a_soft_take_is_never_turned_up(grid, take, tmp_path):
    own, _ = soundfile.read(take.path)
    soundfile.write(tmp_path / "soft.wav", 0.01 * own, RATE, subtype="PCM_24")
    written = write(
        plan(grid, Settings(name="soft", sound=True), take=open_audio(tmp_path / "soft.wav")), tmp_path
    )
    assert written.gain_db == 0


def test_sections_are_as_long_as_their_bars_and_begin_on_them(folder):
    out, planned, _, _ = folder
    whole, _ = soundfile.read(out / "evening.take.wav")
    lines = planned.session.bar_times
    for name, first, last in [("1-Low tide", 0, 4), ("2-B-2", 4, 8)]:
        found, _ = soundfile.read(out / f"evening.section-{name}.wav")
        begin, end = round(lines[first] * RATE), round(lines[last] * RATE)
        assert len(found) == end - begin
        seam = RATE // 100 + 1
        np.testing.assert_allclose(found[:-seam], whole[begin : end - seam], atol=2**-22)
    assert cue_points(out / "evening.section-2-B-2.wav") == [(0, "B/2")]


def test_a_count_in_is_whole_bars_of_clicks_before_a_section(grid, take, tmp_path):
    settings = Settings(name="a", loops=True, count_in=2, bars=False, beats=False)
    planned = plan(grid, settings, take=take, sections=SECTIONS)
    written = write(planned, tmp_path)
    bar = grid.bar_times[5] - grid.bar_times[4]
    path = tmp_path / "a.section-2-B-2.wav"
    found, _ = soundfile.read(path)
    lead = round(2 * bar * RATE)
    ((frame, name),) = cue_points(path)
    assert (frame, name) == (lead, "B/2")
    for i in range(8):
        at = round(i * bar / 4 * RATE)
        assert 0.05 < np.abs(found[at : at + 200]).max() <= 10 ** (-18 / 20) + 2**-22
        assert not found[at + RATE // 20 : round((i + 1) * bar / 4 * RATE)].any()
    assert len(found) == lead + round(planned.session.bar_times[8] * RATE) - round(
        planned.session.bar_times[4] * RATE
    )
    assert len(written.files) == 3


@pytest.mark.parametrize(("marks", "count"), [("none", 0), ("sections", 2), ("bars", 9)])
def test_marks_are_where_the_session_has_them(grid, take, tmp_path, marks, count):
    planned = plan(grid, Settings(name="a", sound=True, marks=marks), take=take, sections=SECTIONS)
    write(planned, tmp_path)
    points = cue_points(tmp_path / "a.take.wav")
    assert len(points) == count
    if marks == "bars":
        assert [frame for frame, _ in points] == [round(time * RATE) for time in planned.session.bar_times]
        assert [name for _, name in points[:2] + points[4:5]] == ["Bar 1, Low tide", "Bar 2", "Bar 5, B/2"]
    elif marks == "sections":
        assert points == [
            (round(planned.session.bar_times[bar] * RATE), name) for bar, name in ((0, "Low tide"), (4, "B/2"))
        ]


def test_marks_of_a_steady_version_are_evenly_apart(grid, take, tmp_path):
    settings = Settings(name="a", steady=True, marks="bars", steady_tempo=96)
    planned = plan(grid, settings, take=take)
    write(planned, tmp_path)
    frames = [frame for frame, _ in cue_points(tmp_path / "a.steady.wav")]
    np.testing.assert_allclose(np.diff(frames), 4 * 60 / 96 * RATE, atol=1)
    assert planned.steady_tempo == 96.0


def test_flac_holds_the_same_samples(grid, take, tmp_path, folder):
    write(plan(grid, Settings(name="a", sound=True, form="flac"), take=take, sections=SECTIONS), tmp_path)
    np.testing.assert_array_equal(
        soundfile.read(tmp_path / "a.take.flac")[0], soundfile.read(folder[0] / "evening.take.wav")[0]
    )
    assert soundfile.info(tmp_path / "a.take.flac").subtype == "PCM_24"


def test_the_list_names_every_file_with_its_size_and_hash(folder):
    # FIPS 180-4, as hashlib has it.
    out, planned, written, _ = folder
    listed = json.loads((out / "evening.manifest.json").read_text(encoding="utf-8"))
    assert [entry["name"] for entry in listed["files"]] == [file.name for file in planned.files[:-1]]
    for entry in listed["files"]:
        data = (out / entry["name"]).read_bytes()
        assert entry["bytes"] == len(data)
        assert entry["sha256"] == hashlib.sha256(data).hexdigest()
    assert [file.sha256 for file in written.files[:-1]] == [entry["sha256"] for entry in listed["files"]]
    assert listed["bar_shift"] == planned.session.shift


class Page(HTMLParser):
    """What a page holds: its tags, the rows of its tables, and whether every tag is closed."""

    void = {"meta", "br", "path", "rect", "circle"}  # noqa: RUF012 - a constant of the test

    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.rows, self.words, self.attributes = [], [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += attributes
        if tag not in self.void:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])

    def handle_startendtag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += attributes

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)
        if self.rows and self.open[-1:] and self.open[-1] in ("td", "th"):
            self.rows[-1].append(data)


def test_the_page_holds_all_and_asks_for_nothing(folder, grid):
    out, _, written, _ = folder
    text = (out / "evening.report.html").read_text(encoding="utf-8")
    page = Page(text)
    assert page.open == []
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(page.tags)
    assert not [value for name, value in page.attributes if name in ("src", "href") or name.startswith("on")]
    assert "default-src 'none'" in text
    assert page.tags.count("svg") == 1
    bars = [row for row in page.rows if len(row) >= 4 and row[0].lstrip("-").isdigit()]
    assert [row[0] for row in bars] == [str(line.bar) for line in grid.bar_lines]
    assert [float(row[1]) for row in bars] == pytest.approx(list(grid.bar_times), abs=0.0005)
    assert bars[0][-1] == "placed"
    assert ["Low tide", "1", "4", "0:01"] in [row[:4] for row in page.rows]
    words = " ".join(page.words)
    assert f"{1000 * written.read_back.worst:.4f} ms" in words
    assert {row[0] for row in page.rows if len(row) == 3} >= {"evening.tempo-map.mid", "evening.steady.wav"}


def test_a_name_cannot_break_the_page(grid, tmp_path):
    bad = '<script>alert("1")</script>&'
    planned = plan(grid, Settings(name="a", report=True), sections=[Section(1, bad)])
    write(planned, tmp_path)
    page = Page((tmp_path / "a.report.html").read_text(encoding="utf-8"))
    assert "script" not in page.tags
    assert bad in [row[0] for row in page.rows if row]


def test_midi_files_for_a_midi_take(grid, tmp_path):
    take = midi_take((time, time + 0.2, 60) for time in grid.beat_times)
    settings = Settings(name="a", played=True, steady_notes=True, strength=0.5, click_sound=True)
    planned = plan(grid, settings, take=take)
    assert [file.kind for file in planned.files] == ["map", "bars", "beats", "click", "notes", "steady-notes"]
    assert "32 notes moved 50 % of the way" in planned.files[-1].holds or "33 notes" in planned.files[-1].holds
    assert write(planned, tmp_path).gain_db is None
    assert soundfile.info(tmp_path / "a.click.wav").samplerate == 48_000


def test_without_sections_the_sections_are_left_out_and_that_is_said(grid, take):
    planned = plan(grid, Settings(name="a", loops=True), take=take)
    assert "loop" not in [file.kind for file in planned.files]
    assert "No section has a name yet" in planned.cautions[-1].text


def test_a_bar_stretched_too_far_is_named(take):
    slow = grid_of(Metre.steady(FOUR), [0.5] * 12 + [1.6] * 4 + [0.5] * 12, start=1.0)
    planned = plan(slow, Settings(name="a", steady=True, steady_tempo=120), take=take)
    assert [(caution.bar, "0.3 times as long" in caution.text) for caution in planned.cautions] == [(4, True)]


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ({"sound": True}, "MIDI and has no sound"),
        ({"loops": True}, "MIDI and has no sound"),
        ({"steady": True}, "MIDI and has no sound"),
    ],
)
def test_a_midi_take_has_no_sound_of_its_own(grid, choice, words):
    with pytest.raises(InputError, match=words):
        plan(grid, Settings(name="a", **choice), take=midi_take([(1, 2, 60)]), sections=SECTIONS)


@pytest.mark.parametrize("choice", [{"played": True}, {"steady_notes": True}])
def test_sound_has_no_notes(grid, take, choice):
    with pytest.raises(InputError, match="no notes to write"):
        plan(grid, Settings(name="a", **choice), take=take)


def test_a_recording_that_goes_away_leaves_nothing(grid, take, tmp_path):
    path = tmp_path / "gone.wav"
    path.write_bytes(take.path.read_bytes())
    out = tmp_path / "out"
    out.mkdir()
    planned = plan(grid, Settings(name="a", sound=True), take=open_audio(path))
    path.unlink()
    with pytest.raises(TakeError):
        write(planned, out)
    assert list(out.iterdir()) == []


def test_writing_can_be_stopped_and_leaves_nothing(grid, take, tmp_path):
    class StoppedError(Exception):
        pass

    def stop(words, share):
        if words == "Writing a.steady.wav" and share > 0.3:
            raise StoppedError

    planned = plan(grid, Settings(name="a", **ALL_SOUND), take=take, sections=SECTIONS)
    with pytest.raises(StoppedError):
        write(planned, tmp_path, stages=stop)
    assert list(tmp_path.iterdir()) == []


def test_the_recording_is_never_written_over(grid, take, tmp_path):
    own = tmp_path / "a.take.wav"
    own.write_bytes(take.path.read_bytes())
    planned = plan(grid, Settings(name="a", sound=True), take=open_audio(own))
    with pytest.raises(HandoverError, match="never written over"):
        write(planned, tmp_path, given=[own], overwrite=True)
    assert own.read_bytes() == take.path.read_bytes()


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ({"form": "mp3"}, "choose wav or flac"),
        ({"peak": 1.0}, "give -60 to 0"),
        ({"peak": float("nan")}, "give -60 to 0"),
        ({"marks": "beats"}, "none, sections or bars"),
        ({"count_in": 9}, "give 0 to 8"),
        ({"strength": 1.5}, "0 to 100 %"),
        ({"unit": "1/5"}, "no grid for notes"),
        ({"steady_tempo": 2.0}, "give 5 to 400"),
        ({"intro": -1}, "0 to 999"),
    ],
)
def test_settings_that_cannot_be_are_one_sentence(choice, words):
    with pytest.raises(InputError, match=words):
        Settings(**{"name": "evening", **choice})


def test_what_is_left_out_is_in_no_file_and_the_map_fits_what_is_heard(grid, take, tmp_path):
    begin, end = grid.bar_times[2], grid.bar_times[4]
    document = LeaveOut(Passage(begin, end), take.duration).apply(Document(metre=grid.metre))
    heard = heard_take(take, document, grid)
    assert "does not fit the recording" in plan_of(heard, take, Settings(name="a")).cautions[-1].text
    planned = plan_of(heard, take, Settings(name="a", sound=True, peak=0.0))
    assert not planned.cautions
    assert planned.placing.startswith("Put a.take.wav at the very start")
    write(planned, tmp_path)
    found, _ = soundfile.read(tmp_path / "a.take.wav")
    own, _ = soundfile.read(take.path)
    start = round(planned.session.offset * RATE)
    seam = start + round(begin * RATE)
    assert len(found) == start + len(own) - round(end * RATE) + round(begin * RATE)
    # All but the cross-fade is the recording's own, sample for sample.
    np.testing.assert_array_equal(found[start : seam - RATE // 50], own[: round(begin * RATE) - RATE // 50])
    np.testing.assert_array_equal(found[seam + RATE // 50 :], own[round(end * RATE) + RATE // 50 :])
    np.testing.assert_allclose(
        planned.session.bar_times[:3], grid.bar_times[:3] + planned.session.offset, atol=1e-9
    )
