"""The sound of takes: their own samples, at another rate, slower at the same pitch, and as a piano."""

import numpy as np
import pytest
import soundfile

from app.sound.sources import PIANO_RATE, Recording, TakeSound
from core.errors import TakeError
from core.passages import Passage, Passages
from core.read_take import read_take
from tests.app.sound.waves import frequency_of, tone, wave_take
from tests.app.takes import play_midi

RATE = 48000


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_a_recording_is_played_sample_for_sample(tmp_path, suffix):
    rows = np.random.default_rng(1).integers(-(2**15), 2**15, (70000, 2)) / 2**15
    source = Recording(wave_take(tmp_path / f"take{suffix}", rows))
    np.testing.assert_array_equal(source.read(1000, 60000), rows[1000:61000].astype(np.float32))


def test_before_and_after_the_take_there_is_silence(tmp_path):
    source = Recording(wave_take(tmp_path / "take.wav", np.full((1000, 1), 0.5)))
    out = source.read(-10, 1020)
    assert not out[:10].any()
    assert not out[1010:].any()
    np.testing.assert_array_equal(out[10:1010], 0.5)


def test_more_than_two_channels_are_heard_as_their_first_two(tmp_path):
    rows = np.stack([np.full(500, level) for level in (0.1, 0.2, 0.3)], axis=1)
    out = Recording(wave_take(tmp_path / "take.wav", rows)).read(0, 500)
    np.testing.assert_allclose(out, [[0.1, 0.2]] * 500, atol=1e-7)


def test_a_format_that_cannot_be_sought_is_decoded_to_the_sample(tmp_path):
    take = wave_take(tmp_path / "take.ogg", tone(440.0, 4.0))
    sound = TakeSound(take)
    source = sound.plain()
    end = take.frames
    out = np.concatenate([source.read(at, 1000) for at in range(0, end - end % 1000, 1000)])
    expected = soundfile.read(take.path, dtype="float32")[0][: len(out)]
    # Sixteen bits with twice the room: half a step of 2/32768.
    np.testing.assert_allclose(out[:, 0], expected, atol=1.01 / 32768)
    assert source.ready(0, end)
    sound.close()


def test_a_take_that_goes_away_is_said(tmp_path):
    take = wave_take(tmp_path / "take.wav", tone(440.0, 2.0))
    source = TakeSound(take).plain()
    take.path.unlink()
    with pytest.raises((TakeError, OSError)):
        source.read(0, 1000)


@pytest.mark.parametrize(("rate", "wanted"), [(44100, 48000), (48000, 44100), (22050, 48000), (44099, 48000)])
def test_another_rate_moves_nothing_and_changes_no_pitch(tmp_path, rate, wanted):
    rows = np.zeros(4 * rate)
    rows[2 * rate] = 0.5
    played = tone(1000.0, 0.5, rate)
    rows[: len(played)] += played
    source = TakeSound(wave_take(tmp_path / "take.wav", rows, rate)).at(wanted)
    out = np.concatenate([source.read(at, 3001) for at in range(0, 3 * wanted, 3001)])[:, 0]
    assert np.argmax(np.abs(out[wanted:])) + wanted == 2 * wanted
    assert frequency_of(out[2000 : wanted // 2 - 2000], wanted) == pytest.approx(1000.0, abs=0.05)
    # The tone has the level it had.
    assert np.abs(out[2000:10000]).max() == pytest.approx(0.3, abs=0.002)


@pytest.mark.parametrize("speed", [0.5, 0.7, 0.9])
def test_slower_keeps_the_pitch_and_every_moment_in_its_place(tmp_path, speed):
    seconds = 6.0
    rows = tone(440.0, seconds, level=0.05)
    times = np.arange(0.7, seconds - 0.5, 0.53)
    for time in times:
        at = round(time * RATE)
        rows[at : at + 400] += tone(2500.0, 400 / RATE) * np.exp(-np.arange(400) / 80)
    source = TakeSound(wave_take(tmp_path / "take.wav", rows)).at(RATE, speed)
    out = np.concatenate([source.read(at, 4096) for at in range(0, round(seconds * RATE / speed), 4096)])[:, 0]
    middle = out[round(0.1 * RATE) : round(0.6 * RATE / speed)]
    assert frequency_of(middle, RATE) == pytest.approx(440.0, abs=1.0)
    late = []
    for time in times:
        near = round(time * RATE / speed)
        part = np.abs(out[near - 2400 : near + 2400])
        late.append((np.argmax(part > 0.4 * part.max()) - 2400) / RATE)
    # A hundredth of a second is what taps are judged by; the library is measured at about one thousandth.
    assert np.abs(late).max() < 0.004
    assert abs(np.median(late)) < 0.002


def test_slower_is_the_same_however_it_is_cut(tmp_path):
    source = TakeSound(wave_take(tmp_path / "take.wav", tone(300.0, 3.0))).at(RATE, 0.8)
    whole = source.read(20000, 60000)
    np.testing.assert_array_equal(np.concatenate([source.read(20000, 1), source.read(20001, 59999)]), whole)


def test_a_midi_take_is_played_by_a_piano_at_any_rate_and_speed(tmp_path):
    take = read_take(play_midi(tmp_path / "take.mid", phrases=1).path)
    sound = TakeSound(take)
    assert sound.rate == PIANO_RATE
    first = round(float(take.notes.start[0]) * 44100)
    for speed in (1.0, 0.5):
        out = sound.at(44100, speed).read(0, 44100 * 3)
        assert begins(out) == pytest.approx(first / speed, abs=60)


def begins(out):
    return int(np.argmax(np.abs(out).max(axis=1) > 1e-4))


def test_passages_are_heard_one_after_the_other(tmp_path):
    rows = np.repeat(np.arange(4.0) / 10, RATE)
    take = wave_take(tmp_path / "take.wav", rows)
    sound = TakeSound(take, Passages((Passage(2.0, 3.0), Passage(0.5, 1.0))))
    source = sound.at(RATE)
    assert sound.duration == 1.5
    assert source.ready(0, 72000)
    out = source.read(0, 80000)
    np.testing.assert_allclose(out[1000 : RATE - 1000], 0.2, atol=1e-6)
    np.testing.assert_allclose(out[RATE + 1000 : 72000], 0.0, atol=1e-6)
    assert not out[72000:].any()
