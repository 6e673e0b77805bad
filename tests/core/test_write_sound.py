"""WAV and FLAC files, read again by readers that know nothing of the writer."""

import errno
import wave

import numpy as np
import pytest
import soundfile
from scipy.io import wavfile

from core.errors import InputError
from core.wav_marks import Mark
from core.write_sound import check_form, write_sound
from tests.core.riff import cue_points, wave_chunks

RATE = 44_100


def tone(frames=1001, channels=1):
    seconds = np.arange(frames) / RATE
    return np.stack([0.5 * np.sin(2 * np.pi * 997 * (i + 1) * seconds) for i in range(channels)], axis=1).astype(
        np.float32
    )


def written(path, samples, **choice):
    form = path.suffix[1:]
    with path.open("xb") as file:
        write_sound(file, np.array_split(samples, 3), form=form, rate=RATE, channels=samples.shape[1], **choice)
    return path


@pytest.mark.parametrize("channels", [1, 2, 3])
@pytest.mark.parametrize("form", ["wav", "flac"])
def test_every_sample_comes_back_to_the_last_of_24_bits(tmp_path, form, channels):
    samples = tone(channels=channels)
    found, rate = soundfile.read(written(tmp_path / f"a.{form}", samples), always_2d=True)
    assert rate == RATE
    assert found.shape == samples.shape
    np.testing.assert_allclose(found, samples, atol=0.5001 / 2**23)


@pytest.mark.parametrize("frames", [1000, 1001])
def test_marks_and_length_are_read_by_other_readers(tmp_path, frames):
    marks = [Mark(0, "A"), Mark(500, "Low tide, d\u00e9but"), Mark(frames - 1, "Bar 3")]
    path = written(tmp_path / "a.wav", tone(frames), marks=marks)
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 3, RATE)
        assert file.getnframes() == frames
    assert cue_points(path) == [(mark.frame, mark.name) for mark in marks]
    assert len(wave_chunks(path)[b"data"]) == 3 * frames
    with pytest.warns(wavfile.WavFileWarning, match="not understood, skipping"):
        rate, found = wavfile.read(path)
    assert (rate, len(found)) == (RATE, frames)


def test_without_marks_there_is_no_chunk_of_them(tmp_path):
    assert set(wave_chunks(written(tmp_path / "a.wav", tone()))) == {b"fmt ", b"data"}


def test_what_is_too_loud_is_limited(tmp_path):
    found, _ = soundfile.read(written(tmp_path / "a.wav", np.float32([[3.0], [-3.0], [0.5]])))
    np.testing.assert_allclose(found, [1.0, -1.0, 0.5], atol=2**-22)


def test_a_full_disk_is_the_disks_own_error(tmp_path):
    class Full:
        def __init__(self):
            self.at = 0

        def write(self, data):
            self.at += len(data)
            if self.at > 2000:
                raise OSError(errno.ENOSPC, "full")
            return len(data)

        def seek(self, place, whence=0):
            return 0

        def tell(self):
            return 0

    for form in ("wav", "flac"):
        with pytest.raises(OSError, match="full") as caught:
            write_sound(Full(), [tone(200_000)] * 3, form=form, rate=RATE, channels=1)
        assert caught.value.errno == errno.ENOSPC


def test_what_a_file_cannot_hold_is_one_sentence():
    # Four channels of 24 bits at 96 kHz reach 2^32 bytes after an hour and two minutes.
    check_form("wav", frames=3700 * 96_000, rate=96_000, channels=4)
    with pytest.raises(InputError, match=r"1\.0 hours of sound are more than a WAV file can hold"):
        check_form("wav", frames=3740 * 96_000, rate=96_000, channels=4)
    check_form("flac", frames=3740 * 96_000, rate=96_000, channels=4)
    with pytest.raises(InputError, match="room for 8 channels, not 9"):
        check_form("flac", frames=1, rate=RATE, channels=9)
    with pytest.raises(InputError, match="not at 768000 Hz"):
        check_form("flac", frames=1, rate=768_000, channels=1)
    with pytest.raises(InputError, match="choose wav or flac"):
        check_form("mp3", frames=1, rate=RATE, channels=1)
