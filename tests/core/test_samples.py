"""Stretches of a take from its file, against the same take read from start to end."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import TakeError
from core.read_audio import blocks, open_audio
from core.samples import Samples
from tests.core.take_files import write_sound

RATE = 48000
FORMS = {
    "wav": {"subtype": "PCM_16"},
    "aiff": {"subtype": "PCM_24"},
    "flac": {},
    "ogg": {"format": "OGG", "subtype": "VORBIS"},
    "opus": {"format": "OGG", "subtype": "OPUS"},
    "mp3": {"format": "MP3"},
}


@pytest.fixture(scope="module", params=FORMS)
def read(request, tmp_path_factory):
    """A take with the samples that reading it through gives, and those that are to be had at once."""
    seconds = np.arange(int(4.2 * RATE)) / RATE
    left = np.sin(2 * np.pi * (110 + 300 * seconds) * seconds) * np.exp(-(seconds % 0.7) * 3)
    right = np.cos(2 * np.pi * 97 * seconds) * 0.3
    path = tmp_path_factory.mktemp("samples") / f"take.{request.param}"
    write_sound(path, 0.7 * np.stack([left, right], axis=1), RATE, **FORMS[request.param])
    take = open_audio(path)
    samples, whole = Samples(take, 2), []
    for block in blocks(take, seconds=0.31):
        whole.append(block.T)
        samples.keep(whole[-1])
    return take, np.concatenate(whole, axis=1), samples


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_any_stretch_is_what_reading_through_gives(read, data):
    take, whole, samples = read
    first = data.draw(st.integers(0, take.frames))
    last = data.draw(st.integers(first, min(take.frames, first + 70_000)))
    # What is kept is in half precision: eleven bits of each sample (IEEE 754 binary16).
    close = 2**-11 if take.path.suffix in (".mp3", ".ogg", ".opus") else 0
    np.testing.assert_allclose(samples.stretch(first, last), whole[:, first:last], rtol=close, atol=close / 500)


def test_the_last_sample_is_there_and_none_after_it(read):
    take, whole, samples = read
    np.testing.assert_allclose(samples.stretch(take.frames - 5, take.frames), whole[:, -5:], rtol=1e-3, atol=1e-6)
    with pytest.raises(TakeError):
        samples.stretch(take.frames - 5, take.frames + 1)


def test_what_has_not_been_kept_yet_is_refused(tmp_path):
    path = write_sound(tmp_path / "take.mp3", np.sin(np.arange(40_000) / 30), RATE, format="MP3")
    take = open_audio(path)
    samples = Samples(take, 1)
    samples.keep(np.ones((1, 100), np.float32))
    assert samples.stretch(90, 100).tolist() == [[1.0] * 10]
    with pytest.raises(TakeError, match="make room"):
        samples.stretch(90, 101)


def test_a_full_disk_stops_nothing(tmp_path):
    path = write_sound(tmp_path / "take.mp3", np.sin(np.arange(40_000) / 30), RATE, format="MP3")
    samples = Samples(open_audio(path), 1)

    class Full:
        def seek(self, _):
            raise OSError(28, "No space left on device")

    real, samples._file = samples._file, Full()
    samples.keep(np.ones((1, 100), np.float32))
    samples._file = real
    samples.keep(np.ones((1, 100), np.float32))
    with pytest.raises(TakeError):
        samples.stretch(100, 200)


def test_only_the_channels_asked_for(tmp_path):
    sound = np.stack([np.full(3000, 0.1 * i) for i in range(1, 5)], axis=1)
    take = open_audio(write_sound(tmp_path / "four.wav", sound + np.linspace(0, 0.01, 3000)[:, None], RATE))
    assert Samples(take, 2).stretch(10, 20).shape == (2, 10)
    assert Samples(take, 2).stretch(10, 20)[1].mean() == pytest.approx(0.2, abs=0.01)
