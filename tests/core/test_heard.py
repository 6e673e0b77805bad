"""The sound of a take from any place in it."""

import numpy as np
import pytest
import soundfile

from core.errors import TakeError
from core.heard import hear, peak_of, source_of
from core.read_audio import open_audio

RATE = 22_050


def noise(frames=3 * RATE, channels=2):
    return np.random.default_rng(4).uniform(-0.5, 0.5, (frames, channels)).astype(np.float32)


@pytest.mark.parametrize(("ending", "subtype"), [("wav", "FLOAT"), ("flac", "PCM_24"), ("ogg", "VORBIS")])
def test_any_stretch_is_that_of_the_whole_and_silence_is_around_it(tmp_path, ending, subtype):
    path = tmp_path / f"take.{ending}"
    soundfile.write(path, noise(), RATE, subtype=subtype)
    whole, _ = soundfile.read(path, dtype="float32")
    take = open_audio(path)
    with hear(take) as heard:
        assert (heard.rate, heard.channels, heard.frames) == (RATE, 2, len(whole))
        for first, last in [(0, 10), (RATE + 3, 2 * RATE), (len(whole) - 5, len(whole)), (40, 40)]:
            np.testing.assert_array_equal(heard.read(first, last), whole[first:last])
        around = heard.read(-7, len(whole) + 9)
        np.testing.assert_array_equal(around[7:-9], whole)
        assert not around[:7].any()
        assert not around[-9:].any()
        assert not heard.read(-20, -10).any()
        assert not heard.read(len(whole) + 1, len(whole) + 4).any()
        assert peak_of(heard) == np.abs(whole).max()


def test_a_source_says_what_it_opens(tmp_path):
    soundfile.write(tmp_path / "take.wav", noise(), RATE)
    source = source_of(open_audio(tmp_path / "take.wav"))
    assert (source.rate, source.channels, source.frames) == (RATE, 2, 3 * RATE)
    with source.open() as heard:
        assert heard.frames == source.frames


def test_a_take_that_has_changed_is_one_sentence(tmp_path):
    path = tmp_path / "take.wav"
    soundfile.write(path, noise(), RATE)
    take = open_audio(path)
    with hear(take) as heard:
        soundfile.write(path, noise(100), RATE)
        with pytest.raises(TakeError, match="was changed while it was read"):
            heard.read(50, 200)
        path.unlink()
        with pytest.raises(TakeError):
            heard.read(0, 10)
