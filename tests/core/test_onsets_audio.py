"""Takes are synthesised here: plucked tones with sudden attacks, so that the truth is known to the sample."""

import mir_eval
import numpy as np
import pytest
import soundfile

from core import onsets_audio
from core.errors import TakeError
from core.onsets_audio import audio_onsets
from core.read_audio import open_audio


def piece(seed=0, bars=12):
    """Chords of an invented waltz in free time: start, pitches and velocity of each."""
    random = np.random.default_rng(seed)
    chords, time = [], 0.731
    for bar in range(bars):
        length = 1.5 * np.exp(random.normal(0, 0.1))
        root = (40, 45, 38, 43)[bar % 4]
        for beat, (pitches, velocity) in enumerate(
            [((root,), 100), ((root + 16, root + 19), 70), ((root + 24,), 60)]
        ):
            chords.append((time + beat * length / 3, pitches, velocity))
        time += length
    return chords


def render(chords, *, rate=44100, tail=2.0):
    samples = np.zeros(int((chords[-1][0] + tail) * rate))
    for start, pitches, velocity in chords:
        first = int(np.ceil(start * rate))
        time = np.arange(min(int(1.5 * rate), len(samples) - first)) / rate + first / rate - start
        for pitch in pitches:
            hertz = 440 * 2 ** ((pitch - 69) / 12)
            partials = range(1, min(12, int(0.45 * min(rate, 22050) / hertz)) + 1)
            tone = sum(np.sin(2 * np.pi * n * hertz * time) * np.exp(-time * (1 + n)) / n for n in partials)
            samples[first : first + len(time)] += (velocity / 127) ** 2 * tone * np.clip((1.5 - time) / 0.1, 0, 1)
    return 0.5 * samples / np.abs(samples).max()


def take_of(path, samples, rate=44100):
    soundfile.write(path, samples, rate, subtype="FLOAT")
    return open_audio(path)


@pytest.fixture(scope="module")
def heard(tmp_path_factory):
    chords = piece()
    samples = render(chords)
    path = tmp_path_factory.mktemp("take") / "waltz.wav"
    return chords, samples, audio_onsets(take_of(path, samples))


def truth(chords):
    return np.array([start for start, _, _ in chords])


def test_onsets_of_a_take_are_found(heard):
    chords, _, onsets = heard
    # mir_eval.onset scores with its own window of 50 ms.
    f, precision, recall = mir_eval.onset.f_measure(truth(chords), onsets.time)
    assert precision >= 0.97
    assert recall >= 0.97
    assert f >= 0.97


def test_times_are_neither_late_nor_early(heard):
    chords, _, onsets = heard
    pairs = np.array(mir_eval.util.match_events(truth(chords), onsets.time, 0.05))
    error = onsets.time[pairs[:, 1]] - truth(chords)[pairs[:, 0]]
    # Between the sudden attack of a synthetic string and the slower one of a sampled piano lie 5 ms; the
    # figures for the piano are in tests.bench.onset_timing.
    assert abs(np.median(error)) < 0.005
    assert np.median(np.abs(error - np.median(error))) < 0.003


def test_bass_accent_count_and_harmony_are_heard(heard):
    chords, _, onsets = heard
    pairs = mir_eval.util.match_events(truth(chords), onsets.time, 0.05)
    low = [onsets.low[h] == min(chords[c][1]) for c, h in pairs]
    assert np.mean(low) > 0.9
    bass = [onsets.strength[h] for c, h in pairs if c % 3 == 0]
    rest = [onsets.strength[h] for c, h in pairs if c % 3 == 2]
    assert np.median(bass) > np.median(rest) + 3
    roots = [int(np.argmax(onsets.chroma[h])) == chords[c][1][0] % 12 for c, h in pairs if c % 3 == 0]
    assert np.mean(roots) > 0.9
    two = [onsets.count[h] for c, h in pairs if c % 3 == 1]
    one = [onsets.count[h] for c, h in pairs if c % 3 == 0]
    assert np.median(two) > np.median(one) + 0.5


def test_the_same_file_gives_the_same_onsets(heard, tmp_path):
    _, samples, onsets = heard
    again = audio_onsets(take_of(tmp_path / "again.wav", samples))
    for name in ("time", "strength", "count", "low", "high", "length", "chroma"):
        assert np.array_equal(getattr(again, name), getattr(onsets, name)), name


@pytest.mark.parametrize("stretch", [1000, 1777])
def test_where_one_stretch_ends_and_the_next_begins_does_not_matter(heard, tmp_path, monkeypatch, stretch):
    _, samples, onsets = heard
    monkeypatch.setattr(onsets_audio, "_STRETCH", stretch * onsets_audio.HOP)
    cut = audio_onsets(take_of(tmp_path / "cut.wav", samples))
    assert cut.time == pytest.approx(onsets.time, abs=1e-6)
    assert cut.low.tolist() == onsets.low.tolist()
    assert cut.length == pytest.approx(onsets.length, abs=0.05)


def test_stereo_is_heard_like_mono(heard, tmp_path):
    _, samples, onsets = heard
    stereo = audio_onsets(take_of(tmp_path / "stereo.wav", np.column_stack([samples, samples])))
    assert stereo.time == pytest.approx(onsets.time, abs=1e-6)


@pytest.mark.parametrize(("rate", "tolerance"), [(8000, 0.006), (48000, 0.002), (96000, 0.002)])
def test_the_sample_rate_does_not_move_onsets(heard, tmp_path, rate, tolerance):
    chords, _, onsets = heard
    other = audio_onsets(take_of(tmp_path / "other.wav", render(chords, rate=rate), rate))
    pairs = np.array(mir_eval.util.match_events(onsets.time, other.time, 0.03))
    assert len(pairs) >= 0.95 * len(onsets)
    error = other.time[pairs[:, 1]] - onsets.time[pairs[:, 0]]
    assert np.median(np.abs(error)) < tolerance


def test_a_struck_again_note_ends_the_one_before(tmp_path):
    chords = [(0.5 + 0.4 * i, (57,), 90) for i in range(6)]
    onsets = audio_onsets(take_of(tmp_path / "again.wav", render(chords)))
    assert len(onsets) == 6
    assert (onsets.length[:-1] <= 0.42).all()
    assert np.isinf(onsets.pedal_lift).all()
    assert np.isinf(onsets.pedal_down).all()


def test_soft_noise_under_the_music_is_no_onset(heard, tmp_path):
    _, samples, onsets = heard
    noise = np.random.default_rng(0).standard_normal(len(samples)) * 10 ** (-60 / 20)
    noisy = audio_onsets(take_of(tmp_path / "noisy.wav", samples + noise))
    _, precision, recall = mir_eval.onset.f_measure(onsets.time, noisy.time)
    assert precision >= 0.95
    assert recall >= 0.95


def test_knocks_without_a_pitch_are_heard(tmp_path):
    starts = 0.5 + 0.41 * np.arange(8)
    random = np.random.default_rng(0)
    samples = np.zeros(4 * 44100)
    for start in starts:
        first = round(start * 44100)
        samples[first : first + 2000] += random.standard_normal(2000) * np.exp(-np.arange(2000) / 300)
    onsets = audio_onsets(take_of(tmp_path / "knocks.wav", samples / 8))
    assert onsets.time == pytest.approx(starts, abs=0.008)


def test_a_constant_offset_changes_nothing(heard, tmp_path):
    _, samples, onsets = heard
    shifted = audio_onsets(take_of(tmp_path / "offset.wav", 0.3 + 0.1 * samples))
    assert mir_eval.onset.f_measure(onsets.time, shifted.time, window=0.005)[0] > 0.97


def test_a_long_silence_before_the_music_changes_nothing(heard, tmp_path):
    _, samples, onsets = heard
    late = audio_onsets(take_of(tmp_path / "late.wav", np.concatenate([np.zeros(60 * 44100), samples])))
    assert late.time - 60 == pytest.approx(onsets.time, abs=0.003)


def test_progress_goes_from_nothing_to_all(heard, tmp_path):
    told = []
    audio_onsets(take_of(tmp_path / "take.wav", heard[1]), progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert 0 <= told[0] < 1


def test_a_recording_that_stops_in_the_middle_of_a_sound_has_no_onset_there(tmp_path):
    chords = [(0.5, (45, 57, 61), 100)]
    onsets = audio_onsets(take_of(tmp_path / "cut.wav", render(chords, tail=0.6)))
    assert onsets.time == pytest.approx([0.5], abs=0.005)


@pytest.mark.parametrize("seconds", [0.01, 3.0])
def test_a_silent_take_is_refused_with_its_name(tmp_path, seconds):
    take = take_of(tmp_path / "nothing.wav", np.zeros(int(seconds * 44100)))
    with pytest.raises(TakeError, match=r"nothing\.wav holds nothing but silence"):
        audio_onsets(take)


def test_a_take_in_which_nothing_starts_is_refused(tmp_path):
    time = np.arange(3 * 44100) / 44100
    swell = 0.1 * np.sin(2 * np.pi * 220 * time) * np.sin(np.pi * time / 3) ** 2
    take = take_of(tmp_path / "swell.wav", swell)
    with pytest.raises(TakeError, match=r"swell\.wav"):
        audio_onsets(take)
