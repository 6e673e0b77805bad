import os
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
import soundfile
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st

from core import read_audio as module
from core.errors import TakeError
from core.read_audio import blocks, mono_blocks, open_audio
from core.take import AudioTake
from tests.core.take_files import clicks, damaged, saved, tone, write_sound

RATES = [8000, 11025, 22050, 44100, 48000, 96000, 192_000]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("audio")


def heard(take, **given):
    return np.concatenate(list(blocks(take, **given)))


def mono(take, rate=22050):
    return np.concatenate(list(mono_blocks(take, rate=rate)))


class TestFormats:
    @pytest.mark.parametrize(
        ("name", "form", "within"),
        [
            ("take.wav", {"subtype": "PCM_16"}, 2**-15),
            ("take24.wav", {"subtype": "PCM_24"}, 2**-23),
            ("take32.wav", {"subtype": "FLOAT"}, 1e-7),
            ("take8.wav", {"subtype": "PCM_U8"}, 2**-7),
            ("take64.wav", {"format": "RF64"}, 2**-15),
            ("take.flac", {}, 2**-15),
            ("take.aiff", {}, 2**-15),
            ("take.ogg", {"subtype": "VORBIS"}, 0.1),
            ("take.opus", {"format": "OGG", "subtype": "OPUS"}, 0.1),
            ("take.mp3", {}, 0.1),
        ],
    )
    def test_every_sample_is_read_where_it_was(self, folder, name, form, within):
        # In every format the file's own start is the start: encoders' lead-ins are taken off by the library.
        rate = 48000
        sound = np.stack([tone(rate, 1.5), tone(rate, 1.5, hertz=660)], axis=1) * np.hanning(1.5 * rate)[:, None]
        take = open_audio(write_sound(folder / name, sound, rate, **form))
        assert take == AudioTake(path=folder / name, duration=1.5, rate=rate, channels=2, frames=72000)
        np.testing.assert_allclose(heard(take), sound, atol=within)

    @pytest.mark.parametrize("rate", RATES)
    @pytest.mark.parametrize("channels", [1, 6])
    def test_any_rate_and_number_of_channels(self, folder, rate, channels):
        sound = np.stack([tone(rate, 0.3, hertz=200 * (i + 1)) for i in range(channels)], axis=1)
        take = open_audio(write_sound(folder / "any.wav", sound, rate))
        assert (take.rate, take.channels, take.frames) == (rate, channels, len(sound))
        np.testing.assert_allclose(heard(take, seconds=0.1), sound, atol=2**-15)

    def test_the_name_does_not_matter(self, folder):
        path = write_sound(folder / "take.wav", tone(8000, 0.5), 8000)
        for name in ("words.txt", "take.mid", "no name", "Übung №1 “frei” 🎹.mp3", "take.wav.mp3"):
            assert open_audio(saved(folder, path.read_bytes(), name)).frames == 4000


class TestBlocks:
    @settings(max_examples=25, deadline=None)
    @given(length=st.integers(1, 60_000), seconds=st.floats(1e-4, 9))
    def test_are_all_of_the_file_in_order(self, folder, length, seconds):
        sound = np.random.default_rng(length).uniform(-0.5, 0.5, (length, 2))
        sound[0] = 0.9, 0.9
        sound[-1] = -0.9, 0.9 if length > 1 else -0.9
        path = write_sound(folder / "blocks.wav", sound, 8000, subtype="DOUBLE")
        take = AudioTake(path=path, duration=length / 8000, rate=8000, channels=2, frames=length)
        found = []
        try:
            found.extend(blocks(take, seconds=seconds))
        except TakeError:
            assert length == 1  # one sample is as good as silence
        np.testing.assert_array_equal(np.concatenate(found), sound.astype(np.float32))
        size = max(round(seconds * 8000), 1)
        assert all(len(block) == size for block in found[:-1])
        assert 0 < len(found[-1]) <= size

    def test_hold_no_more_of_a_long_take_than_asked_for(self, folder):
        # Two hours as a sparse file: a header, nothing, and a last sample of full scale.
        path = write_sound(folder / "long.wav", np.zeros(10), 8000, subtype="PCM_U8")
        frames = 2 * 3600 * 8000
        head = bytearray(path.read_bytes()[:44])
        head[4:8] = (36 + frames).to_bytes(4, "little")
        head[40:44] = frames.to_bytes(4, "little")
        with path.open("wb") as file:
            file.write(head)
            file.truncate(44 + frames)
            file.seek(-1, os.SEEK_END)
            file.write(b"\xff")
        take = open_audio(path)
        assert take.duration == 7200
        tracemalloc.start()
        count = sum(len(block) for block in blocks(take))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        path.unlink()
        assert count == frames
        assert peak < 5e6


class TestMono:
    @pytest.mark.parametrize("rate", RATES)
    def test_a_click_stays_where_it_is(self, folder, rate):
        # The centre of its energy is where a click is, whatever the filter; a tenth of a millisecond is allowed.
        times = 0.05 + np.arange(60) * 0.0821 + np.random.default_rng(rate).uniform(0, 0.01, 60)
        sound = clicks(rate, 5.3, times)
        wanted = np.flatnonzero(sound) / rate
        found = mono(open_audio(write_sound(folder / "clicks.wav", sound, rate, subtype="FLOAT"))).astype(float)
        for time in wanted:
            near = np.arange(round((time - 0.005) * 22050), round((time + 0.005) * 22050))
            energy = found[near] ** 2
            assert abs(np.sum(energy * near) / np.sum(energy) / 22050 - time) < 1e-4

    @pytest.mark.parametrize("rate", RATES)
    def test_a_sine_is_the_same_sine_without_seams(self, folder, rate):
        # The closed form at the other rate: a shift of 0.01 ms would be off by 0.03, a seam by far more.
        sound = tone(rate, 3.3, hertz=997)
        found = mono(open_audio(write_sound(folder / "sine.wav", sound, rate, subtype="FLOAT")))
        assert abs(len(found) - 3.3 * 22050) <= 1
        inner = slice(500, -500)  # the sudden start and end ring
        np.testing.assert_allclose(found[inner], tone(22050, 3.4, hertz=997)[: len(found)][inner], atol=1e-4)

    def test_is_what_the_whole_file_at_once_would_give(self, folder):
        sound = np.random.default_rng(1).normal(0, 0.1, (150_001, 2)).astype(np.float32)
        found = mono(open_audio(write_sound(folder / "noise.wav", sound, 44100, subtype="FLOAT")))
        np.testing.assert_allclose(found, soxr.resample(sound.mean(axis=1), 44100, 22050), atol=1e-6)

    def test_is_the_mean_of_the_channels(self, folder):
        sound = np.stack([tone(22050, 1), 0.5 * tone(22050, 1), np.zeros(22050)], axis=1)
        found = mono(open_audio(write_sound(folder / "three.wav", sound, 22050, subtype="FLOAT")))
        np.testing.assert_allclose(found, 0.5 * tone(22050, 1), atol=1e-6)


class TestRefused:
    def says(self, path, words, read=open_audio):
        with pytest.raises(TakeError, match=words) as caught:
            read(path)
        text = str(caught.value)
        assert text.startswith(str(path))
        assert text.endswith(".")
        assert "\n" not in text

    def test_no_sound(self, folder):
        self.says(write_sound(folder / "none.wav", np.zeros(0), 8000), "holds no sound")

    @pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e30])
    def test_samples_that_are_no_numbers_are_told_with_their_time(self, folder, bad):
        sound = np.stack([tone(8000, 5), tone(8000, 5)], axis=1)
        sound[28_123, 1] = bad  # 3.515375 s
        path = write_sound(folder / "nan.wav", sound, 8000, subtype="FLOAT")
        self.says(path, r"not a number at 3\.515 s", lambda path: heard(open_audio(path)))

    @pytest.mark.parametrize("level", [0.0, 0.25])
    def test_silence_with_or_without_an_offset(self, folder, level):
        sound = np.full((40_000, 2), level)
        sound[::3] += 1 / 32768
        path = write_sound(folder / "silence.wav", sound, 8000)
        self.says(path, "nothing but silence", lambda path: heard(open_audio(path)))

    def test_a_soft_take_is_no_silence(self, folder):
        path = write_sound(folder / "soft.wav", 0.001 * tone(8000, 1), 8000)
        assert len(heard(open_audio(path))) == 8000

    @pytest.mark.parametrize("rate", [100, 3999, 1_000_000])
    def test_rates_no_take_has(self, folder, rate):
        self.says(write_sound(folder / "rate.wav", np.ones(100), rate), f"sample rate of {rate} Hz")

    def test_more_channels_than_there_is_memory_for(self, folder):
        self.says(write_sound(folder / "many.wav", np.ones((10, 65)), 8000), "65 channels")

    def test_longer_than_any_take(self, folder, monkeypatch):
        monkeypatch.setattr("core.read_audio.LONGEST", 1.0)
        self.says(write_sound(folder / "long.wav", np.ones(8001), 8000), "lasts")

    def test_no_more_is_counted_than_a_take_can_last(self, folder, monkeypatch):
        # The length of such a file is only known when it has been read through, and a stream need not end.
        path = write_sound(folder / "stream.mp3", tone(8000, 60), 8000)
        monkeypatch.setattr("core.read_audio.LONGEST", 1.0)
        read = []
        real = module.sound_file.pieces
        monkeypatch.setattr(module.sound_file, "pieces", lambda path: (read.append(p) or p for p in real(path)))
        self.says(path, "lasts")
        assert sum(map(len, read)) < 8000 + 2 * 16384

    def test_more_samples_than_can_be_read(self, folder, monkeypatch):
        monkeypatch.setattr("core.read_audio._MOST_SAMPLES", 7999)
        self.says(write_sound(folder / "wide.wav", np.ones((1000, 8)), 8000), "8 channels at 8000 Hz")

    def test_a_block_is_no_larger_for_more_channels(self, folder, monkeypatch):
        monkeypatch.setattr("core.read_audio._BLOCK", 32_000)
        take = open_audio(write_sound(folder / "wide.wav", np.eye(10_000, 8), 8000))
        sizes = [len(block) for block in blocks(take)]
        assert sizes == [4000, 4000, 2000]

    def test_chunks_without_end_are_not_all_gone_through(self, folder):
        # libsndfile gives up on them too; Python would go through a gigabyte of them for minutes.
        data = b"RIFF" + (40_000_000).to_bytes(4, "little") + b"WAVE" + b"junk\0\0\0\0" * 5_000_000
        self.says(saved(folder, data, "chunks.wav"), "neither MIDI nor audio")

    def test_a_file_that_changes_while_it_is_read(self, folder):
        take = open_audio(write_sound(folder / "change.wav", tone(8000, 1), 8000))
        self.says(take.path, "was changed", lambda _: heard(replace(take, channels=2)))
        take.path.unlink()
        self.says(take.path, "does not exist", lambda _: heard(take))


@pytest.fixture(scope="module")
def whole(folder):
    sound = np.stack([tone(8000, 0.4), tone(8000, 0.4, hertz=300)], axis=1)
    forms = {"WAV": {"subtype": "FLOAT"}, "FLAC": {}, "AIFF": {}, "OGG": {}, "MP3": {}}
    return {
        name: write_sound(folder / f"whole.{name}", sound, 8000, format=name, **form).read_bytes()
        for name, form in forms.items()
    }


class TestDamage:
    @settings(max_examples=120, deadline=None, derandomize=True)
    @given(data=st.data())
    def test_gives_sound_or_a_refusal(self, folder, whole, data):
        path = saved(folder, data.draw(damaged(whole[data.draw(st.sampled_from(sorted(whole)))])), "damaged")
        try:
            take = open_audio(path)
            for block in blocks(take):
                assert np.isfinite(block).all()
        except TakeError:
            pass

    def test_soundfile_itself_is_silent_about_a_cut_wav(self, folder, whole):
        path = saved(folder, whole["WAV"][:-4000], "cut.wav")
        assert soundfile.info(path).frames < 3200
        with pytest.raises(TakeError, match=r"ends after 0\.3 s of the 0\.4 s"):
            open_audio(path)
