import sys

import numpy as np
import pytest

from core.errors import MissingLibraryError, TakeError
from core.read_audio import blocks, mono_blocks, open_audio
from tests.core.take_files import clicks, saved

RATE = 44100


@pytest.fixture
def encoded(tmp_path):
    av = pytest.importorskip("av", reason="the package av, which reads AAC, is not installed")

    scales = {"s16p": np.int16(2**15 - 1), "s32p": np.int32(2**31 - 1)}

    def encode(name, sound, codec="aac"):
        with av.open(str(tmp_path / name), "w") as container:
            stream = container.add_stream(codec, rate=RATE, layout="stereo")
            for at in range(0, len(sound), 1024):
                part = np.repeat(sound[None, at : at + 1024], 2, axis=0)
                form = stream.codec_context.format.name
                data = (
                    part.astype(np.float32)
                    if form == "fltp"
                    else (part.astype(np.float64) * scales[form]).astype(scales[form].dtype)
                )
                frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(data), format=form, layout="stereo")
                frame.sample_rate, frame.pts = RATE, at
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        return tmp_path / name

    return encode


@pytest.mark.parametrize(("name", "codec"), [("take.m4a", "aac"), ("lossless.m4a", "alac"), ("take.mp4", "aac")])
def test_sound_is_where_it_was(encoded, name, codec):
    times = 0.5 + 0.37 * np.arange(20)
    take = open_audio(encoded(name, clicks(RATE, 8.5, times), codec))
    assert (take.rate, take.channels) == (RATE, 2)
    # At most one frame of 1024 samples of padding at the end.
    assert 8.5 <= take.duration < 8.5 + 1024 / RATE
    assert take.frames == sum(len(block) for block in blocks(take))
    found = np.concatenate(list(mono_blocks(take, rate=RATE)))
    for time in times:
        near = round((time - 0.1) * RATE)
        assert abs(near + np.argmax(np.abs(found[near : near + RATE // 5])) - time * RATE) <= 2


def test_bare_aac_is_read(encoded):
    # A bare stream does not tell the encoder's lead-in, so that the sound comes a frame later.
    take = open_audio(encoded("take.aac", clicks(RATE, 3, np.array([1.0]))))
    assert 3 <= take.duration < 3.1


def test_a_stream_that_goes_on_otherwise_is_refused(encoded):
    # A frame of a bare stream says its own rate and channels (ISO/IEC 13818-7), and need not keep to the first.
    path = encoded("take.aac", clicks(RATE, 2, np.array([1.0])))
    data = path.read_bytes()
    at = data.index(data[:4], len(data) // 2)
    other = bytearray(data[at:])
    place = 0
    while place + 7 < len(other):
        length = (other[place + 3] & 3) << 11 | other[place + 4] << 3 | other[place + 5] >> 5
        other[place + 2] = other[place + 2] & 0xC3 | 7 << 2
        place += length
    path.write_bytes(data[:at] + other)
    with pytest.raises(TakeError, match=r"is damaged at [012]\.\d s: copy or export the take again"):
        open_audio(path)


def test_a_cut_file_is_refused(encoded):
    path = encoded("take.m4a", clicks(RATE, 3, np.array([1.0])))
    data = path.read_bytes()
    with pytest.raises(TakeError, match="no whole MPEG-4 file"):
        open_audio(saved(path.parent, data[: len(data) // 2], "cut.m4a"))


def test_an_mpeg_4_file_without_sound(tmp_path):
    av = pytest.importorskip("av", reason="the package av, which reads AAC, is not installed")
    path = tmp_path / "film.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=25)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for _ in range(3):
            container.mux(stream.encode(av.VideoFrame(64, 64, "yuv420p")))
        container.mux(stream.encode(None))
    with pytest.raises(TakeError, match="holds no sound"):
        open_audio(path)


@pytest.mark.parametrize("start", [b"\0\0\0\x1cftypM4A \0\0\0\0", b"\xff\xf1\x50\x80\x2e\x7f\xfc"])
def test_without_the_package_it_is_named(tmp_path, monkeypatch, start):
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(MissingLibraryError, match=r"take\.m4a holds AAC.*install barwright\[m4a\]"):
        open_audio(saved(tmp_path, start, "take.m4a"))
